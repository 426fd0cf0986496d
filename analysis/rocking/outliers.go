package rocking

import (
	"math"

	"crownlog/analysis"
)

// markOutliers leaves out stops that differ from the trend of their side: partial
// rocks, lifted plungers, the first rock. Inward and outward are told apart: a
// stop that was not reached is the hand's, one beyond the others may be the gear's.
func (j *judgement) markOutliers() {
	s, q := j.s, j.tr.count()
	v := s.values[:0]
	s.misses(j.high, j.low, func(_ *stop, miss float64, _ int) { v = append(v, math.Abs(miss)) })
	scatter := 1.4826 * medianInPlace(v) // a robust deviation of a stop
	// No stop is out by less than a twenty-fifth of the swing, what rounding to a
	// count makes of the mean of a few readings, or four times the noise of a level.
	floor := max(0.04*j.swing, 0.613*q, 4*j.blur)
	if j.quiet {
		floor = math.Max(floor, 1.213*q) // digits that stand still are off by up to one
	}
	usual := math.Max(scatter, usualScatter(j.swing))
	// 5.5 deviations: the scatter is that of few rocks. The first rock seats film and
	// rollers, so less is needed to leave it out.
	reach := math.Max(floor, 5.5*usual)
	firstReach := math.Max(0.75*floor, 4.5*usual)
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
		do(c, c.level-high.at(c.t, k), k)
	}
	for k, c := range s.low {
		do(c, c.level-low.at(c.t, k), k)
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
