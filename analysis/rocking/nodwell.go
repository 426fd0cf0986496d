package rocking

import (
	"math"

	"crownlog/analysis"
)

// leastShare is the least share of a half cycle at a dwell that makes stops of
// turning points; dwells of 0.3 s between motions of 0.5 s have 0.375.
const leastShare = 0.3

// lookForDwell looks for a wheel that turned round without resting.
func (j *judgement) lookForDwell() {
	s := j.s
	bare := len(s.turns) - len(s.dwelt)
	// Two in five bare turns are more than a hurried rock or two.
	hurried := bare >= 3 && 10*bare >= 4*len(s.turns) && j.rocks < minRocks
	if hurried || s.dwellShare(j.tr.interval, j.tr.count()) < leastShare {
		j.faults.add(analysis.NoDwell)
		j.refuse = true
	}
}

// dwellShare returns the median share of a half cycle that the wheel spent at
// dwell, cleared of the time that a cosine-shaped motion of the same swing
// spends within the range of the dwell:
//
//	f = length of the dwell / half cycle
//	f0 = 2/π · acos(1 - 2·range/swing)   of a pure sine
//	share = (f - f0) / (1 - f0)
//
// A sine has a share of 0, straight ramps less. It returns NaN where the
// range is too large a part of the swing to tell.
//
// Readings that scatter by more than half a count widen the range by more.
func (s *judgeScratch) dwellShare(interval, count float64) float64 {
	v := s.values[:0]
	for i := 1; i+1 < len(s.turns); i++ {
		c := &s.turns[i]
		if !c.dwelt {
			continue
		}
		half := (s.turns[i+1].t - s.turns[i-1].t) / 2
		swing := (math.Abs(s.turns[i+1].level-c.level) + math.Abs(s.turns[i-1].level-c.level)) / 2
		// The noise widens a dwell by about two deviations where the digits hide it and
		// by 3.5 where they show it: that is no motion.
		q := c.span / swing
		if c.n >= noisyN {
			scatter := 2 * c.noise
			if c.noise > count/2 {
				scatter = 3.5 * c.noise
			}
			q = math.Max(0, c.span-scatter) / swing
		}
		if q > 0.35 || half <= 0 {
			continue
		}
		f0 := 2 / math.Pi * math.Acos(1-2*q)
		f := math.Min(1, (c.to-c.from+interval)/half)
		v = append(v, (f-f0)/(1-f0))
	}
	if len(v) < 3 {
		return math.NaN()
	}
	return medianInPlace(v)
}
