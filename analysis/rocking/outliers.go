package rocking

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

// markOutliers leaves out stops that differ from the course of their side: partial
// rocks, lifted plungers, the first rock. Inward and outward are told apart: a
// stop that was not reached is the hand's, one beyond the others may be the gear's.
func (j *judgement) markOutliers() {
	s := j.s
	// 5.5 deviations: the scatter is that of few rocks. Tuned on all hands, 4.5 to 7 do.
	reach := 5.5 * math.Max(j.scatter(s.dwelt), j.usual())
	for i := range s.turns {
		c := &s.turns[i]
		switch outward := c.outward(j.course.miss(c)); {
		case outward > dwells.PlayMost*j.swing: // the plunger was off the gear
			j.faults.add(analysis.OffGear)
		case !c.dwelt || math.Abs(outward) <= reach:
			continue
		case i < 2:
			j.first = true
		case outward < 0:
			j.partial++
		default:
			j.odd++
		}
		c.outlier = true
	}
	// Stops of a side that the hand finds within no hundredth of a mm are none. Common
	// practice, no source: a fitter accepts a range of 5 to 10 µm.
	const rough = 0.01
	if math.Max(j.scatter(s.low), j.scatter(s.high)) > math.Hypot(rough, math.Hypot(2*j.blur, j.tr.Count())) {
		j.refuse = true
		for i := range s.turns {
			s.turns[i].outlier = true
		}
	}
}

// scatter is a robust deviation of the stops of a side from their course: half of a
// normal one are within 1/1.4826 of it.
func (j *judgement) scatter(side series) float64 {
	v := j.s.values[:0]
	for _, c := range side {
		v = append(v, math.Abs(j.course.miss(c)))
	}
	return stat.NormalMAD * stat.MedianInPlace(v)
}
