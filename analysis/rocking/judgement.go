package rocking

import "math"

// minRocks is how many sound rocks a value takes.
const minRocks = 3

// A judgement is what the stops found so far amount to. Lengths are relative
// to the first reading where they are levels.
type judgement struct {
	tr *segmenter
	s  *judgeScratch

	faults    faultSet
	refuse    bool
	rocks     int
	swing     float64
	half      float64 // s, half a rock
	high, low trend
	creep     float64    // per second, taken out of the levels
	middle    float64    // time at which the levels are stated
	dithers   [2]float64 // standard deviation of the readings about the high and the low stop
	within    float64    // deviation of the readings within a dwell
	blur      float64    // what the noise leaves of doubt in the level of one dwell
	quiet     bool       // most dwells show no noise
	still     bool       // too little dither for averaging to see past a count
	partial   int        // stops not reached
	odd       int        // stops left out because they differ
	first     bool       // the first rock was left out
	flat      bool       // one stop shows no noise, the other does
	extremes  [2]float64
	scatter   float64 // robust standard deviation of a stop
}

// judgeScratch is room for judging, so that the live path does not allocate.
type judgeScratch struct {
	nodes, turns, passed []stop
	high, low            series
	values               []float64
}

func (s *judgeScratch) init() {
	const room = 2*dwellCap + 2
	s.nodes = make([]stop, 0, room)
	s.turns = make([]stop, 0, room)
	s.passed = make([]stop, 0, room)
	s.values = make([]float64, 0, 4*room)
	s.high.init(room)
	s.low.init(room)
}

// split fills the series of both stops from the rested turns.
func (s *judgeScratch) split() {
	s.high.reset()
	s.low.reset()
	for i := range s.turns {
		c := &s.turns[i]
		if !c.dwelt {
			continue
		}
		if c.high {
			s.high.add(c.t, c.level, i)
		} else {
			s.low.add(c.t, c.level, i)
		}
	}
}

func (s *judgeScratch) extremes() [2]float64 {
	e := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, c := range s.turns {
		e[0], e[1] = math.Min(e[0], c.level), math.Max(e[1], c.level)
	}
	return e
}

// sound returns the number of rocks whose stops are both in use.
func (s *judgeScratch) sound() int {
	high, low := 0, 0
	for i := range s.turns {
		if c := &s.turns[i]; c.dwelt && !c.outlier {
			if c.high {
				high++
			} else {
				low++
			}
		}
	}
	return min(high, low)
}

// typicalSwing returns the median distance between neighbouring stops; 0 with
// fewer than two.
func (s *judgeScratch) typicalSwing() float64 {
	return s.between(func(a, b *stop) float64 { return math.Abs(b.level - a.level) })
}

// halfCycle returns the median time between neighbouring stops; 0 with fewer
// than two.
func (s *judgeScratch) halfCycle() float64 {
	return s.between(func(a, b *stop) float64 { return b.t - a.t })
}

func (s *judgeScratch) between(f func(a, b *stop) float64) float64 {
	v := s.values[:0]
	for i := 1; i < len(s.turns); i++ {
		v = append(v, f(&s.turns[i-1], &s.turns[i]))
	}
	if len(v) == 0 {
		return 0
	}
	return medianInPlace(v)
}
