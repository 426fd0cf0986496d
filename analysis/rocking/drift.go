package rocking

import (
	"math"

	"crownlog/analysis"
)

// chooseTrend decides whether the stops stayed, drifted or stepped, and names
// the fault. Limits in counts, here and elsewhere, lie off the simple fractions
// of a count at which the means of a few readings lie.
func (j *judgement) chooseTrend() {
	s := j.s
	q := j.tr.count()
	// scale is what one stop scatters at the least, limit the least step or drift to
	// speak of: a twenty-fifth of the swing is half the width of usual windows.
	scale := math.Max(math.Max(0.012*j.swing, 0.25*q), j.blur)
	limit := math.Max(math.Max(0.04*j.swing, 0.613*q), 4*j.blur)
	if j.quiet {
		scale, limit = math.Max(scale, 0.5*q), math.Max(limit, 1.263*q)
	}
	h, l := s.high, s.low
	j.high, j.low = h.steady(s.values), l.steady(s.values)
	first, last := s.dwelt[0].t, s.dwelt[len(s.dwelt)-1].t
	j.middle = (first + last) / 2
	if len(s.dwelt) < 4 { // two rocks lie on any line
		return
	}
	cost := h.misfit(j.high, scale) + l.misfit(j.low, scale)

	dh, dl := h.drifting(s.values), l.drifting(s.values)
	// What each costs more than staying is one for each parameter more, the place of
	// the step the fifth: else chance would always find a better fit.
	drift := h.misfit(dh, scale) + l.misfit(dl, scale) + 4
	at := s.stepTime(1.5 * j.swing)
	kh, kl := h.index(at), l.index(at)
	sh, sl := h.stepping(kh, s.values), l.stepping(kl, s.values)
	step := h.misfit(sh, scale) + l.misfit(sl, scale) + 5

	if step < cost && step <= drift && j.nameStep(sh, sl, kh, kl, limit) {
		j.high, j.low = sh, sl
		return
	}
	if drift < cost && j.nameDrift(dh, dl, last-first, limit) {
		j.high, j.low = dh, dl
	}
}

// nameStep names a step of sh.step and sl.step before the stops kh and kl.
func (j *judgement) nameStep(sh, sl trend, kh, kl int, limit float64) bool {
	s := j.s
	nh, nl := len(s.high), len(s.low)
	a, b := math.Abs(sh.step), math.Abs(sl.step)
	scatter := s.pooledScatter(sh, sl, 4, j.swing)
	ha, lb := math.Max(limit, stepLimit(scatter, kh, nh)), math.Max(limit, stepLimit(scatter, kl, nl))
	// A bump moves both stops alike: the smaller step is three fifths of the larger
	// at least, by what their scatter leaves. A slip moves one: two fifths at most.
	// Between the two nothing is named.
	both := sh.step*sl.step > 0 && math.Min(a, b) > 0.6*math.Max(a, b)
	switch {
	case both && math.Min(a, b) > limit && (a > ha || b > lb):
		if math.Abs(a-b) > 0.3*j.swing { // unlike steps are no one zero
			return false
		}
		if j.farShift(sh, sl) {
			j.faults.add(analysis.OffGear)
		} else {
			j.faults.add(analysis.ZeroShift)
		}
	case a > ha && b < 0.4*a && kh >= 2 && nh-kh >= 2,
		b > lb && a < 0.4*b && kl >= 2 && nl-kl >= 2:
		if math.Max(a, b) > 1.5*j.swing { // a pinion slips by part of a tooth at most
			return false
		}
		j.faults.add(analysis.PinionSlip)
	default:
		return false
	}
	j.refuse = true
	return true
}

// farShift reports whether a shift of both stops is so large that the plunger
// has come off its tooth rather than the gauge been bumped; one that leaves the
// reading about zero is a zero pressed, however large.
func (j *judgement) farShift(sh, sl trend) bool {
	const bump = 1 // mm
	size := (math.Abs(sh.step) + math.Abs(sl.step)) / 2
	now := (sh.level+sh.step+sl.level+sl.step)/2 + j.tr.origin
	return size > math.Max(bump, 8*j.swing) && math.Abs(now) > 1.5*j.swing
}

// nameDrift names a drift of both stops over the time span.
func (j *judgement) nameDrift(dh, dl trend, span, limit float64) bool {
	s := j.s
	if len(s.high) < 3 || len(s.low) < 3 {
		return false
	}
	a, b := dh.slope*span, dl.slope*span
	big, small := math.Max(math.Abs(a), math.Abs(b)), math.Min(math.Abs(a), math.Abs(b))
	scatter := s.pooledScatter(dh, dl, 4, j.swing)
	if big < limit || math.Abs(a) < driftLimit(scatter, len(s.high)) && math.Abs(b) < driftLimit(scatter, len(s.low)) {
		return false
	}
	// Both ways are less sure than for a step, for every level bears on the slope.
	if a*b > 0 && small > 0.5*big {
		j.faults.add(analysis.BaseCreep)
		j.creep = (dh.slope + dl.slope) / 2
		if big > 1.5*j.swing { // more than can be trusted to be straight
			j.refuse = true
		}
		return true
	}
	// One stop must stay where it is; between that and creeping alike nothing is said.
	if small > 0.4*big {
		return false
	}
	j.faults.add(analysis.PinionSlip)
	j.refuse = true
	return true
}
