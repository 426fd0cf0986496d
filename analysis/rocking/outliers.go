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
	for i := range s.turns {
		c := &s.turns[i]
		miss := j.course.miss(c)
		outward := c.outward(miss)
		switch {
		case outward > playMost*j.swing: // the plunger was off the gear
			c.outlier = true
			j.faults.add(analysis.OffGear)
		case !c.dwelt:
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
	// Stops that differ by a sixth of the swing are none, nor are those of a side that
	// the hand finds within no hundredth of a mm. Common practice, no source: a fitter
	// accepts a range of 5 to 10 µm.
	if scatter > 0.15*j.swing || math.Max(j.scatter(s.low), j.scatter(s.high)) > math.Hypot(0.01, math.Hypot(2*j.blur, j.tr.count())) {
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
