package rocking

import (
	"math"

	"crownlog/analysis"
)

// markOutliers leaves out stops that differ from the course of their side: partial
// rocks, lifted plungers, the first rock. Inward and outward are told apart: a
// stop that was not reached is the hand's, one beyond the others may be the gear's.
func (j *judgement) markOutliers() {
	s := j.s
	scatter := j.scatter(s.dwelt)
	usual := math.Max(scatter, usualScatter(j.swing))
	// 5.5 deviations: the scatter is that of few rocks. The first rock seats film and
	// rollers, so less is needed to leave it out.
	reach := math.Max(j.least(), 5.5*usual)
	firstReach := 0.8 * reach
	for i, c := range s.dwelt {
		miss := j.course.miss(c)
		outward := c.outward(miss)
		switch {
		case outward > playMost*j.swing: // the plunger was off the gear
			c.outlier = true
			j.faults.add(analysis.OffGear)
		case i < 2 && math.Abs(miss) > firstReach:
			c.outlier, j.first = true, true
		case outward < -reach:
			c.outlier = true
			j.partial++
		case outward > reach:
			c.outlier = true
			j.odd++
		}
	}
	if j.leftBand() {
		j.faults.add(analysis.OffGear)
	}
	// Stops that differ by a sixth of the swing are none, nor are those of a side that
	// the hand finds within no hundredth of a mm. Common practice, no source: a fitter
	// accepts a range of 5 to 10 µm.
	if scatter > 0.15*j.swing || math.Max(j.scatter(s.low), j.scatter(s.high)) > math.Hypot(0.01, 2*math.Hypot(j.blur, j.blind)) {
		j.refuse = true
		for i := range s.turns {
			s.turns[i].outlier = true
		}
	}
}

// scatter is a robust deviation of the stops of a side from their course.
func (j *judgement) scatter(side series) float64 {
	v := j.s.values[:0]
	for _, c := range side {
		v = append(v, math.Abs(j.course.miss(c)))
	}
	return 1.4826 * medianInPlace(v)
}

// leftBand reports whether the motion went far outside both stops without
// resting there.
func (j *judgement) leftBand() bool {
	if j.faults.has(analysis.ZeroShift) {
		return false
	}
	out := func(x, t float64) bool {
		return x > j.course.stop(&stop{t: t, high: true})+2*j.swing || x < j.course.stop(&stop{t: t})-2*j.swing
	}
	for _, c := range j.s.turns {
		if !c.dwelt && out(c.level, c.t) {
			return true
		}
	}
	z := &j.tr.zig
	return z.begun && (out(z.hi, z.thi) || out(z.lo, z.tlo))
}
