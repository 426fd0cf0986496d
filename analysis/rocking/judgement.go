package rocking

import (
	"math"

	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

// minRocks is how many sound rocks a value takes.
const minRocks = 3

// A judgement is what the stops found so far amount to. Lengths are relative
// to the first reading where they are levels.
type judgement struct {
	tr *dwells.Segmenter
	s  *judgeScratch

	faults faultSet
	refuse bool
	rocks  int
	swing  float64
	half   float64                     // s, half a rock
	table  [len(hypotheses)]hypothesis // of what both stops may have done
	course hypothesis                  // the likeliest of them
	varies [2]variation                // of the readings at the low and at the high stop
	hidden float64                     // variance that rounding to the digits leaves in the level of a stop
	blur   float64                     // what the noise leaves of doubt in the level of one dwell
	blind  float64                     // what rounding to the digits leaves of it
	nudged bool                        // the base moved between rocks
	centre float64                     // of the stops, the base nudged
	still  bool                        // too little dither for averaging to see past a count
	flat   bool                        // one stop shows no noise, the other does

	partial, odd int  // stops left out: not reached, and beyond the others
	first        bool // the first rock was left out
}

// judgeScratch is room for judging, so that the live path does not allocate.
type judgeScratch struct {
	nodes, turns, passed []stop
	open, dwells         []dwells.Dwell // the one not filed yet, and all with it
	dwelt, high, low     series         // of the turns, in order
	values               []float64
}

// split fills the series with the turns at which the wheel dwelt.
func (s *judgeScratch) split() {
	s.dwelt, s.high, s.low = s.dwelt[:0], s.high[:0], s.low[:0]
	for i := range s.turns {
		c := &s.turns[i]
		if !c.dwelt {
			continue
		}
		s.dwelt = append(s.dwelt, c)
		if c.high {
			s.high = append(s.high, c)
		} else {
			s.low = append(s.low, c)
		}
	}
}

// extremes returns the lowest and the highest level of the stops.
func extremes(stops []stop) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := range stops {
		lo, hi = min(lo, stops[i].Level), max(hi, stops[i].Level)
	}
	return lo, hi
}

// between returns the median of what f says of neighbouring stops; 0 with fewer
// than two.
func (s *judgeScratch) between(f func(a, b *stop) float64) float64 {
	v := s.values[:0]
	for i := 1; i < len(s.turns); i++ {
		v = append(v, f(&s.turns[i-1], &s.turns[i]))
	}
	if len(v) == 0 {
		return 0
	}
	return stat.MedianInPlace(v)
}
