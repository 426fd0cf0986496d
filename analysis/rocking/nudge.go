package rocking

import "math"

// A fitter whose digits stand still is told to nudge the base between rocks.
// Then the levels of either stop scatter with the base, but a stroke from where
// the wheel left one stop to where it came to the other does not.

// stroke returns the distance from stop i-1 to stop i, of the parts of their
// dwells on either side of the stroke; of those before and after a nudge the one
// that fits the usual swing is meant.
func (j *judgement) stroke(i int) float64 {
	a, b := &j.s.turns[i-1], &j.s.turns[i]
	best := math.Inf(1)
	for _, from := range a.left {
		for _, to := range b.came {
			if d := math.Abs(to - from); math.Abs(d-j.swing) < math.Abs(best-j.swing) {
				best = d
			}
		}
	}
	return best
}

// strokes returns how far the strokes from first on by step are from their median.
func (j *judgement) strokes(first, step int) float64 {
	v := j.s.values[:0]
	for i := first; i < len(j.s.turns); i += step {
		if j.s.turns[i-1].dwelt && j.s.turns[i].dwelt {
			v = append(v, j.stroke(i))
		}
	}
	if len(v) < 3 {
		return math.Inf(1)
	}
	median := medianInPlace(v)
	for i, d := range v {
		v[i] = d - median
	}
	return heldRMS(v, 0.3*j.swing)
}

// heldRMS returns the root of the mean square of v, none counted for more than
// most, so that a partial rock is not all of it.
func heldRMS(v []float64, most float64) float64 {
	sum := 0.0
	for _, x := range v {
		x = math.Min(math.Abs(x), most)
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}

// followNudges takes the base's moves between rocks out of the levels where the
// strokes show them: all of them, or those of one direction, agree far better
// than the stops do with the trend found.
func (j *judgement) followNudges() {
	s := j.s
	v, far := s.values[:0], 0.0
	s.misses(j.high, j.low, func(_ *stop, miss float64, _ int) { v, far = append(v, miss), math.Max(far, math.Abs(miss)) })
	if far > j.swing { // nobody nudges so far: the plunger was lifted
		return
	}
	loose := heldRMS(v, 0.3*j.swing)
	first, step, tight := 1, 1, math.Inf(1)
	for _, way := range [][2]int{{1, 1}, {1, 2}, {2, 2}} {
		if d := j.strokes(way[0], way[1]); d < tight-0.1*j.tr.count() {
			first, step, tight = way[0], way[1], d
		}
	}
	// Twice: a stroke scatters by √2 of what a stop does, and both are of few rocks.
	if loose < math.Max(2*tight, math.Max(0.02*j.swing, 0.6*j.tr.count())) {
		return
	}
	j.faults, j.refuse, j.creep = 0, false, 0
	j.nudged = true
	low := s.low.steady(s.values).level
	j.centre = (low + s.high.steady(s.values).level) / 2
	for i := range s.turns {
		c := &s.turns[i]
		if !c.high {
			c.level = low
			continue
		}
		sum, n := 0.0, 0.0 // of the strokes to it and from it that are to be trusted
		for k := max(i, 1); k <= i+1 && k < len(s.turns); k++ {
			if (k-first)%step == 0 {
				sum, n = sum+j.stroke(k), n+1
			}
		}
		c.level, c.outlier = low+sum/max(n, 1), n == 0
	}
}
