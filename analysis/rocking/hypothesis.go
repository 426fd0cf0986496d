package rocking

import (
	"math"

	"crownlog/analysis"
)

// A shape is how a stop goes over time.
type shape int

const (
	stays shape = iota
	drifts
	steps // once
	turns // between two levels
)

// A hypothesis says how both stops went over time, and what that is called.
type hypothesis struct {
	name      string
	fault     analysis.Fault
	shape     shape
	high, low bool       // the stops that go so
	at        float64    // when they step, or the level between the two
	size      float64    // of the step, a second of the drift
	level     [2]float64 // of the low and of the high stop without that, at the time middle
	middle    float64
	cost      float64 // minus the logarithm of its likelihood; 0: not to be spoken of
}

var hypotheses = [...]hypothesis{
	{name: "both stay"},
	{name: "both drift", fault: analysis.BaseCreep, shape: drifts, high: true, low: true},
	{name: "high drifts", fault: analysis.PinionSlip, shape: drifts, high: true},
	{name: "low drifts", fault: analysis.PinionSlip, shape: drifts, low: true},
	{name: "both step", fault: analysis.ZeroShift, shape: steps, high: true, low: true},
	{name: "high steps", fault: analysis.PinionSlip, shape: steps, high: true},
	{name: "low steps", fault: analysis.PinionSlip, shape: steps, low: true},
	{name: "high turns", fault: analysis.EndFloat, shape: turns, high: true},
	{name: "low turns", fault: analysis.EndFloat, shape: turns, low: true},
}

// share is how much of the size the stop c shows.
func (h *hypothesis) share(c *stop) float64 {
	switch {
	case c.high && !h.high || !c.high && !h.low:
		return 0
	case h.shape == drifts:
		return c.t - h.middle
	case h.shape == steps && c.t > h.at || h.shape == turns && c.level > h.at:
		return 1
	}
	return 0
}

// miss returns how far the stop c is off.
func (h *hypothesis) miss(c *stop) float64 { return c.level - h.stop(c) }

// stop returns where the stop c should be.
func (h *hypothesis) stop(c *stop) float64 {
	if c.high {
		return h.level[1] + h.size*h.share(c)
	}
	return h.level[0] + h.size*h.share(c)
}

// reach is how far a stop goes over the time span.
func (h *hypothesis) reach(span float64) float64 {
	if h.shape == drifts {
		return math.Abs(h.size) * span
	}
	return math.Abs(h.size)
}
