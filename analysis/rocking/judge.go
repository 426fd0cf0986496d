package rocking

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/dwells"
)

// judge weighs the stops found so far. Causes come before their consequences: a
// changed unit makes nonsense of all the rest, and stops that were left out for a
// named reason are not also called too few.
func judge(tr *dwells.Segmenter, s *judgeScratch) judgement {
	j := judgement{tr: tr, s: s}
	s.open = s.open[:0]
	if d, ok := tr.Open(); ok {
		s.open = append(s.open, d)
	}
	j.findStops()
	j.swing = s.between(func(a, b *stop) float64 { return math.Abs(b.Level - a.Level) })
	j.half = s.between(func(a, b *stop) float64 { return b.t - a.t })
	s.split()
	if len(s.dwelt) >= 2 {
		j.measureNoise()
		j.explain()
		j.markOutliers()
		j.measureDither()
	}
	j.rocks = min(s.high.sound(), s.low.sound())
	if j.unitFlipped() {
		j.faults, j.refuse = faultBit(analysis.UnitFlip), true
		return j
	}
	j.lookForFloat()
	j.lookForClipping()
	j.lookForStillness()
	j.lookForGaps()
	j.lookForDwell()
	// Of these three the value may still be had, so that they do not explain why
	// there are no more rocks.
	if j.rocks < minRocks {
		j.refuse = true
		if j.faults == 0 || j.faults&^(faultBit(analysis.Frozen)|faultBit(analysis.Gaps)|faultBit(analysis.OffGear)) == 0 {
			j.faults.add(analysis.TooFewRocks)
		}
	}
	return j
}
