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

// moves reports whether the stop c is of a side that does not stay.
func (h *hypothesis) moves(c *stop) bool { return c.high && h.high || !c.high && h.low }

// share is how much of the size the stop c shows.
func (h *hypothesis) share(c *stop) float64 {
	switch {
	case !h.moves(c):
	case h.shape == drifts:
		return c.t - h.middle
	case h.shape == steps && c.t > h.at || h.shape == turns && c.Level > h.at:
		return 1
	}
	return 0
}

// miss returns how far the stop c is off.
func (h *hypothesis) miss(c *stop) float64 {
	level := h.level[0]
	if c.high {
		level = h.level[1]
	}
	return c.Level - level - h.size*h.share(c)
}

// reach is how far a stop goes over the time span.
func (h *hypothesis) reach(span float64) float64 {
	if h.shape == drifts {
		return math.Abs(h.size) * span
	}
	return math.Abs(h.size)
}

const (
	// A hypothesis with one parameter more must be so much likelier, as a natural
	// logarithm: one trace in a hundred has a fault, of some twenty kinds and places
	// to begin, and its size is one of some thirty that would be told apart.
	faultOdds = 11.5
	// What a sound trace may look like by chance is no fault unless it is rarer.
	seldom = 0.01
	// Hands do not find a stop at the same place twice. Before anything is
	// measured a stop is taken to scatter by handScatter, in mm, as firmly as
	// handRocks stops would show it: three rocks alone tell too little. It never
	// counts for more than handShare of the swing. 1 to 3 µm are common practice,
	// no source; a fitter accepts a range of 5 to 10 µm.
	handScatter = 0.002
	handRocks   = 4
	handShare   = 0.025
	// A step or a drift to speak of is more than so many deviations of a usual stop.
	// Tuned on the models: with 3 gauges that lag raise alarms, with 5 a float is missed.
	shown = 4
	// Stops of a side from which on not every pair and every step is tried, for time.
	manyStops = 12
)

// usual is the deviation of a usual stop: what hands scatter, noise and what the digits
// hide of a level included.
func (j *judgement) usual() float64 {
	return math.Hypot(math.Min(handScatter, handShare*j.swing), math.Hypot(j.blur, j.blind))
}

// least is the least step, drift or difference of stops to speak of.
func (j *judgement) least() float64 { return shown * j.usual() }

// unlikely returns minus the logarithm of the likelihood of n levels that miss by
// the deviations summed in squares, their scatter unknown but for what hands
// usually make of it:
//
//	(n+ν)/2 · ln(1 + Σr²/ν)
//
// Source: marginal likelihood of a normal with inverse-gamma variance, Gelman et
// al., "Bayesian Data Analysis", 3.2.
func unlikely(n int, squares float64) float64 {
	return float64(n+handRocks) / 2 * math.Log1p(squares/handRocks)
}

// squared returns the square of a miss in deviations of a usual stop. Ten are the most
// that is counted, so that one partial rock is not all of it.
func (j *judgement) squared(miss float64) float64 {
	const most = 10
	r := math.Min(most, math.Abs(miss)/j.usual())
	return r * r
}
