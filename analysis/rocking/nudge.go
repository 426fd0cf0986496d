package rocking

import (
	"math"

	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

// A fitter whose digits stand still is told to nudge the base between rocks.
// Then the levels of either stop scatter with the base, but a stroke from where
// the wheel left one stop to where it came to the other does not.

// stroke returns the distance from stop i-1 to stop i, of the parts of their
// dwells on either side of the stroke; of those before and after a nudge the one
// that fits the usual swing is meant.
func (j *judgement) stroke(i int) float64 {
	a, b := &j.s.turns[i-1], &j.s.turns[i]
	best := math.Inf(1)
	for _, from := range a.Left {
		for _, to := range b.Came {
			if d := math.Abs(to - from); math.Abs(d-j.swing) < math.Abs(best-j.swing) {
				best = d
			}
		}
	}
	return best
}

// strokes returns how far the strokes from first on by step are from their median,
// in squared deviations of as many stops as there are.
func (j *judgement) strokes(first, step int) float64 {
	v := j.s.values[:0]
	for i := first; i < len(j.s.turns); i += step {
		if j.s.turns[i-1].dwelt && j.s.turns[i].dwelt {
			v = append(v, j.stroke(i))
		}
	}
	if len(v) < minRocks {
		return math.Inf(1)
	}
	median := stat.MedianInPlace(v)
	var sum float64
	for _, d := range v {
		sum += j.squared((d - median) / math.Sqrt2) // a stroke has two ends
	}
	return sum / float64(len(v)) * float64(len(j.s.dwelt))
}

// followNudges takes the base's moves between rocks out of the levels where the
// strokes show them: all of them, or those of one direction, agree far better than
// the levels do with the likeliest hypothesis. Strokes of one direction are half as
// many and agree by chance: they must do so four times as well. Tuned on stops that are
// missed by chance and on the rows of nudges.
func (j *judgement) followNudges(best *hypothesis) bool {
	s := j.s
	first, step, tight := 1, 1, math.Inf(1)
	for _, way := range [...][2]int{{1, 1}, {1, 2}, {2, 2}} {
		if d := j.strokes(way[0], way[1]); d < tight/4 {
			first, step, tight = way[0], way[1], d
		}
	}
	least := best.cost
	if best.shape != stays {
		least -= faultOdds
	}
	lo, hi := extremes(s.turns)
	if unlikely(len(s.dwelt), tight)+faultOdds > least || hi-lo > 2*dwells.PlayMost*j.swing { // nobody nudges so far
		return false
	}
	j.nudged = true
	low := j.course.level[0]
	j.centre = (low + j.course.level[1]) / 2
	for i := range s.turns {
		c := &s.turns[i]
		if !c.high {
			c.Level = low
			continue
		}
		var sum, n float64 // of the strokes to it and from it that are to be trusted
		for k := max(i, 1); k <= i+1 && k < len(s.turns); k++ {
			if (k-first)%step == 0 {
				sum, n = sum+j.stroke(k), n+1
			}
		}
		c.Level, c.outlier = low+sum/max(n, 1), n == 0
	}
	return true
}
