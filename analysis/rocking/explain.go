package rocking

import (
	"math"

	"crownlog/analysis"
)

// An explanation says how both stops went over time.
type explanation struct {
	high, low trend
	cost      float64
}

// explain states an explanation with what it costs: the distances of the levels
// from it in units of scale, none counted for more than 5 so that a partial rock
// cannot bend it, and one for each parameter it has more than staying, else
// chance would always find a better fit.
func (s *judgeScratch) explain(high, low trend, scale, parameters float64) explanation {
	e := explanation{high, low, parameters}
	s.misses(high, low, func(_ *stop, miss float64, _ int) { e.cost += math.Min(math.Abs(miss)/scale, 5) })
	return e
}

// chooseTrend decides whether the stops stayed, drifted or stepped, and names
// the fault. Limits in counts, here and elsewhere, lie off the simple fractions
// of a count at which the means of a few readings lie.
func (j *judgement) chooseTrend() {
	s, q := j.s, j.tr.count()
	// scale is what one stop scatters at the least, limit the least step or drift to
	// speak of: a twenty-fifth of the swing is half the width of usual windows.
	scale := max(0.012*j.swing, 0.25*q, j.blur)
	limit := max(0.04*j.swing, 0.613*q, 4*j.blur)
	if j.quiet {
		scale, limit = math.Max(scale, 0.5*q), math.Max(limit, 1.263*q)
	}
	h, l := s.high, s.low
	stay := s.explain(h.steady(s.values), l.steady(s.values), scale, 0)
	j.high, j.low = stay.high, stay.low
	n := len(s.dwelt)
	first, last := s.dwelt[0].t, s.dwelt[n-1].t
	j.middle = (first + last) / 2
	if n < 4 { // two rocks lie on any line
		return
	}
	drift := s.explain(h.drifting(s.values), l.drifting(s.values), scale, 4)
	step := explanation{cost: math.Inf(1)}
	for k := 1; k+2 < n; k += 1 + n/32 { // one stop before or after is an odd stop; of many every few will do
		t := s.dwelt[k].t
		if e := s.explain(h.stepping(t, s.values), l.stepping(t, s.values), scale, 5); e.cost < step.cost { // its place is the fifth
			step = e
		}
	}
	if step.cost < stay.cost && step.cost <= drift.cost && j.nameStep(step, limit) {
		j.high, j.low = step.high, step.low
	} else if drift.cost < stay.cost && j.nameDrift(drift, last-first, limit) {
		j.high, j.low = drift.high, drift.low
	}
}

// sureMove is how many standard deviations a step or a drift must be. It is the
// best of several, and the deviation comes of few rocks.
const sureMove = 6.5

// moves returns which of the moves a and b of the two stops are more than the
// scatter about the explanation makes.
func (j *judgement) moves(e explanation, a, b, limit float64) (high, low bool) {
	scatter := sureMove * j.s.pooledScatter(e, j.swing)
	return math.Abs(a) > math.Max(limit, scatter*e.high.doubt(len(j.s.high))), math.Abs(b) > math.Max(limit, scatter*e.low.doubt(len(j.s.low)))
}

// nameStep names a step. A bump moves both stops alike: the smaller step is three
// fifths of the larger at least, by what their scatter leaves. A slip moves one:
// two fifths at most. Between the two nothing is named.
func (j *judgement) nameStep(e explanation, limit float64) bool {
	a, b := e.high.step, e.low.step
	big, small := math.Max(math.Abs(a), math.Abs(b)), math.Min(math.Abs(a), math.Abs(b))
	high, low := j.moves(e, a, b, limit)
	two := func(c trend, n int) bool { return c.from >= 2 && n-c.from >= 2 }
	switch {
	case a*b > 0 && small > 0.6*big && small > limit && (high || low):
		if big-small > 0.3*j.swing { // unlike steps are no one zero
			return false
		}
		if j.farShift(e) {
			j.faults.add(analysis.OffGear)
		} else {
			j.faults.add(analysis.ZeroShift)
		}
	case small < 0.4*big && (math.Abs(a) == big && high && two(e.high, len(j.s.high)) || math.Abs(b) == big && low && two(e.low, len(j.s.low))):
		// A pinion slips by part of a tooth at most, and not to and fro.
		if big > 1.5*j.swing || j.twoLevels(j.s.high) || j.twoLevels(j.s.low) {
			return false
		}
		j.faults.add(analysis.PinionSlip)
	default:
		return false
	}
	j.refuse = true
	return true
}

// farShift reports whether a step of both stops is so large that the plunger
// has come off its tooth rather than the gauge been bumped; one that leaves the
// reading about zero is a zero pressed, however large.
func (j *judgement) farShift(e explanation) bool {
	const bump = 1 // mm
	size := math.Abs(e.high.step+e.low.step) / 2
	now := (e.high.level+e.high.step+e.low.level+e.low.step)/2 + j.tr.origin
	return size > math.Max(bump, 8*j.swing) && math.Abs(now) > 1.5*j.swing
}

// nameDrift names a drift of both stops over the time span. Both ways are less
// sure than for a step, for every level bears on the slope.
func (j *judgement) nameDrift(e explanation, span, limit float64) bool {
	a, b := e.high.slope*span, e.low.slope*span
	big, small := math.Max(math.Abs(a), math.Abs(b)), math.Min(math.Abs(a), math.Abs(b))
	high, low := j.moves(e, a, b, limit)
	switch {
	case !high && !low || len(j.s.high) < 3 || len(j.s.low) < 3:
		return false
	case a*b > 0 && small > 0.5*big:
		j.faults.add(analysis.BaseCreep)
		j.creep = (e.high.slope + e.low.slope) / 2
		j.refuse = big > 1.5*j.swing // more than can be trusted to be straight
	case small > 0.4*big: // neither alike nor one that stays: nothing is said
		return false
	default:
		j.faults.add(analysis.PinionSlip)
		j.refuse = true
	}
	return true
}

// Hands do not find a stop at the same place twice. Before anything is
// measured a stop is taken to scatter by handScatter, in mm, as firmly as
// handRocks stops would show it: three rocks alone tell too little. It never
// counts for more than handShare of the swing. 1 to 3 µm are common practice,
// no source; a fitter accepts a range of 5 to 10 µm.
const (
	handScatter = 0.002
	handRocks   = 4
	handShare   = 0.02
)

func usualScatter(swing float64) float64 { return math.Min(handScatter, handShare*swing) }

// pooledScatter returns the standard deviation of a stop about the explanation,
// which took four parameters from the levels, as many as the usual scatter it is
// pooled with counts for. A level further out than most is held to that, so that a
// partial rock counts for little.
func (s *judgeScratch) pooledScatter(e explanation, swing float64) float64 {
	most, usual := 0.08*swing, usualScatter(swing)
	sum, n := handRocks*usual*usual, 0
	s.misses(e.high, e.low, func(_ *stop, miss float64, _ int) {
		d := math.Min(most, math.Abs(miss))
		sum += d * d
		n++
	})
	return math.Sqrt(sum / float64(max(n, 1)))
}
