package rocking

import (
	"math"

	"crownlog/analysis"
)

// A hypothesis says how both stops went over time, and what that is called.
type hypothesis struct {
	name      string
	fault     analysis.Fault
	more      float64 // parameters it has more than staying
	high, low trend
	cost      float64 // minus the logarithm of its likelihood; 0: not to be spoken of
}

const (
	// A hypothesis with one parameter more must be so much likelier, as a natural
	// logarithm: one trace in a hundred has a fault, of some twenty kinds and places
	// to begin, and its size is one of some thirty that would be told apart.
	faultOdds = 11.0
	// Hands do not find a stop at the same place twice. Before anything is
	// measured a stop is taken to scatter by handScatter, in mm, as firmly as
	// handRocks stops would show it: three rocks alone tell too little. It never
	// counts for more than handShare of the swing. 1 to 3 µm are common practice,
	// no source; a fitter accepts a range of 5 to 10 µm.
	handScatter = 0.002
	handRocks   = 4
	handShare   = 0.02
)

func usualScatter(swing float64) float64 { return math.Min(handScatter, handShare*swing) }

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

// squared returns the square of a miss in deviations of a usual stop, noise and what
// the digits hide of a level included. Ten deviations are the most that is counted, so that one partial rock is
// not all of it.
func (j *judgement) squared(miss float64) float64 {
	usual := math.Hypot(usualScatter(j.swing), math.Hypot(j.blur, j.blind))
	r := math.Min(10, math.Abs(miss)/usual)
	return r * r
}

// least is the least step, drift or odd stop to speak of: a twenty-fifth of the swing
// is half the width of usual windows, and the levels must show it. Limits in counts
// lie off the simple fractions of a count at which the means of a few readings lie.
func (j *judgement) least() float64 {
	return max(0.04*j.swing, 0.613*j.tr.count(), 4*j.blur, 4.2*j.blind)
}

// cost is what the hypothesis has against it.
func (j *judgement) cost(h hypothesis) float64 {
	sum := 0.0
	j.s.misses(h.high, h.low, func(_ *stop, miss float64, _ int) { sum += j.squared(miss) })
	n := len(j.s.dwelt)
	if j.nudged { // the low stops are where they were put
		n = len(j.s.high)
	}
	return unlikely(n, sum) + faultOdds*h.more
}

// explain chooses the likeliest of what the stops may have done, and names it.
func (j *judgement) explain() {
	s, h, l, n := j.s, j.s.high, j.s.low, len(j.s.dwelt)
	none := trend{}
	j.high, j.low = h.through(none, s.values), l.through(none, s.values)
	j.table = [...]hypothesis{
		{name: "both stay", high: j.high, low: j.low},
		{name: "both drift", fault: analysis.BaseCreep, more: 1},
		{name: "high drifts", fault: analysis.PinionSlip, more: 1},
		{name: "low drifts", fault: analysis.PinionSlip, more: 1},
		{name: "both step", fault: analysis.ZeroShift, more: 1},
		{name: "high steps", fault: analysis.PinionSlip, more: 1},
		{name: "low steps", fault: analysis.PinionSlip, more: 1},
		// To say of each stop at which of two levels it is takes a bit.
		{name: "high turns", fault: analysis.EndFloat, more: 1 + math.Ln2/faultOdds*float64(len(h))},
		{name: "low turns", fault: analysis.EndFloat, more: 1 + math.Ln2/faultOdds*float64(len(l))},
	}
	best := &j.table[0]
	best.cost = j.cost(*best)
	span := s.dwelt[n-1].t - s.dwelt[0].t
	j.middle = s.dwelt[0].t + span/2
	if n < 4 { // two rocks lie on any line
		return
	}
	up, down := h.drifting(s.values), l.drifting(s.values)
	tilt := trend{slope: (up.slope + down.slope) / 2}
	j.weigh(1, tilt, tilt, span)
	j.weigh(2, up, none, span)
	j.weigh(3, none, down, span)
	for k := 1; k+2 < n; k += 1 + n/32 { // one stop before or after is an odd stop; of many every few will do
		t := s.dwelt[k].t
		up, down := h.stepping(t, 1, s.values), l.stepping(t, 1, s.values)
		up, down = up.alike(down, len(h), len(l))
		j.weigh(4, up, down, span)
		j.weigh(5, h.stepping(t, 2, s.values), none, span)
		j.weigh(6, none, l.stepping(t, 2, s.values), span)
	}
	j.weigh(7, h.turning(s.values), none, span)
	j.weigh(8, none, l.turning(s.values), span)
	for i := range j.table {
		if c := &j.table[i]; c.cost > 0 && c.cost < best.cost {
			best = c
		}
	}
	if !j.nudged && j.followNudges(best.cost-faultOdds*best.more) {
		j.explain()
		return
	}
	j.chosen, j.high, j.low = best.name, best.high, best.low
	j.creep = (best.high.slope + best.low.slope) / 2
	switch {
	case best.fault == analysis.ZeroShift && j.farShift(*best):
		j.faults.add(analysis.OffGear)
	case best.fault != "":
		j.faults.add(best.fault)
	}
	// A drift is taken out, but a wide one need not be straight.
	j.refuse = best.fault != "" && (best.fault != analysis.BaseCreep || best.size(span) > 1.5*j.swing)
}

// size is how far the stop that goes further does so over the time span.
func (h *hypothesis) size(span float64) float64 { return math.Max(h.high.size(span), h.low.size(span)) }

// weigh puts courses of the stops into the table as hypothesis i, where they are
// likelier than what stands there and large enough to speak of.
func (j *judgement) weigh(i int, high, low trend, span float64) {
	c := j.table[i]
	c.high, c.low = j.s.high.through(high, j.s.values), j.s.low.through(low, j.s.values)
	size := c.size(span)
	switch {
	case size <= j.least():
	case c.fault == analysis.EndFloat && size < nearStop*j.swing:
	case c.fault == analysis.ZeroShift && size < 1.613*j.tr.count(): // the base was nudged by a count, as is advised
	case size > 1.5*j.swing && c.fault != analysis.BaseCreep && c.fault != analysis.ZeroShift: // no tooth and no bearing has such play
	default:
		if c.cost = j.cost(c); j.table[i].cost == 0 || c.cost < j.table[i].cost {
			j.table[i] = c
		}
	}
}

// farShift reports whether a step of both stops is so large that the plunger
// has come off its tooth rather than the gauge been bumped; one that leaves the
// reading about zero is a zero pressed, however large.
func (j *judgement) farShift(e hypothesis) bool {
	const bump = 1 // mm
	now := (e.high.level+e.low.level)/2 + e.high.step + j.tr.origin
	return math.Abs(e.high.step) > math.Max(bump, 8*j.swing) && math.Abs(now) > 1.5*j.swing
}
