package rocking

import (
	"math"

	"crownlog/analysis"
)

// markOutliers leaves out stops that differ from the trend of their side: partial
// rocks, lifted plungers, the first rock. Inward and outward are told apart: a
// stop that was not reached is the hand's, one beyond the others may be the gear's.
func (j *judgement) markOutliers() {
	s := j.s
	v := s.values[:0]
	s.misses(j.high, j.low, func(_ *stop, miss float64, _ int) { v = append(v, math.Abs(miss)) })
	scatter := 1.4826 * medianInPlace(v) // a robust deviation of a stop
	usual := math.Max(scatter, usualScatter(j.swing))
	// 5.5 deviations: the scatter is that of few rocks. The first rock seats film and
	// rollers, so less is needed to leave it out.
	reach := math.Max(j.least(), 5.5*usual)
	firstReach := math.Max(0.75*j.least(), 4.5*usual)
	s.misses(j.high, j.low, func(c *stop, miss float64, k int) {
		outward := c.outward(miss)
		switch {
		case outward > 1.5*j.swing: // no gear gives way so far: the plunger was off it
			c.outlier = true
			j.faults.add(analysis.OffGear)
		case k == 0 && math.Abs(miss) > firstReach:
			c.outlier, j.first = true, true
		case outward < -reach:
			c.outlier = true
			j.partial++
		case outward > reach:
			c.outlier = true
			j.odd++
		}
	})
	if j.leftBand() {
		j.faults.add(analysis.OffGear)
	}
	// Stops that differ by a sixth of the swing are none.
	if scatter > 0.15*j.swing {
		j.refuse = true
		for i := range s.turns {
			s.turns[i].outlier = true
		}
	}
}

// misses hands out the stops with their distance from the trend of their side
// and their place on that side.
func (s *judgeScratch) misses(high, low trend, do func(c *stop, miss float64, k int)) {
	for k, c := range s.high {
		do(c, high.miss(c, k), k)
	}
	for k, c := range s.low {
		do(c, low.miss(c, k), k)
	}
}

// leftBand reports whether the motion went far outside both stops without
// resting there.
func (j *judgement) leftBand() bool {
	if j.faults.has(analysis.ZeroShift) {
		return false
	}
	s := j.s
	out := func(x, t float64) bool {
		return x > j.high.level+j.high.slope*t+2*j.swing || x < j.low.level+j.low.slope*t-2*j.swing
	}
	for _, c := range s.turns {
		if !c.dwelt && out(c.level, c.t) {
			return true
		}
	}
	z := &j.tr.zig
	return z.begun && (out(z.hi, z.thi) || out(z.lo, z.tlo))
}
