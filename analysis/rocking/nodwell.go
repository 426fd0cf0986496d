package rocking

import (
	"math"

	"crownlog/analysis"
)

// leastShare is the least share of a half cycle at a dwell that makes stops of
// turning points; dwells of 0.3 s between motions of 0.5 s have 0.375.
const leastShare = 0.33

// lookForDwell looks for a wheel that turned round without resting.
func (j *judgement) lookForDwell() {
	s := j.s
	bare := len(s.turns) - len(s.dwelt)
	// A third of bare turns are more than a hurried rock or two.
	hurried := bare >= minRocks && minRocks*bare >= len(s.turns) && j.rocks < minRocks
	if hurried || s.dwellShare(j.tr.interval) < leastShare {
		j.faults.add(analysis.NoDwell)
		j.refuse = true
	}
}

// dwellShare returns the median share of a half cycle that the wheel spent at
// dwell, cleared of the time for which a cosine-shaped motion of the same swing
// looks like it:
//
//	f = length of the dwell / half cycle
//	f0 = 2/π · acos(1 - 2·depth/swing)   of a pure sine
//	share = (f - f0) / (1 - f0)
//
// The depth is that of a parabola through the dwell, as long as f is. A sine has a
// share of 0, straight ramps less. Two readings do not tell a dwell from a turn
// between them, nor does a depth of the whole swing: both have 0 as well. It is NaN
// of fewer than three stops.
func (s *judgeScratch) dwellShare(interval float64) float64 {
	v := s.values[:0]
	for i := 1; i+1 < len(s.turns); i++ {
		c := &s.turns[i]
		half := (s.turns[i+1].t - s.turns[i-1].t) / 2
		swing := (math.Abs(s.turns[i+1].level-c.level) + math.Abs(s.turns[i-1].level-c.level)) / 2
		length := c.to - c.from + interval // of which the readings span an interval less
		depth := math.Max(0, -c.outward(c.bend)) / swing * math.Pow(length/(c.to-c.from), 2)
		switch {
		case !c.dwelt || half <= 0:
		case c.n < minDwellN || depth >= 1:
			v = append(v, 0)
		default:
			f0 := 2 / math.Pi * math.Acos(1-2*depth)
			v = append(v, (math.Min(1, length/half)-f0)/(1-f0))
		}
	}
	if len(v) < minRocks {
		return math.NaN()
	}
	return medianInPlace(v)
}
