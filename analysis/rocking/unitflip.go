package rocking

import (
	"math"
	"slices"

	"crownlog/analysis/internal/digit"
	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

const inch = 25.4 // mm, exactly

// unitFlipped reports whether the scale changed by 25.4 during the trace: from some
// moment on the places where the motion turned are the same two levels as before it,
// but for that factor. All of them are looked at, since the swing tells which are stops
// and here is none. It must be likelier than two levels throughout and than the course
// chosen for the stops.
func (j *judgement) unitFlipped() bool {
	nodes := j.s.nodes
	lo, hi := extremes(nodes)
	anywhere := math.Log(hi - lo)
	stays, flips := j.twoLevels(len(nodes), 1, anywhere), math.Inf(1)
	var course float64
	for _, c := range nodes {
		low := j.course.miss(&c)
		c.high = true
		course += j.atLevel(math.Min(math.Abs(low), math.Abs(j.course.miss(&c))), j.course.level[1]-j.course.level[0], anywhere)
	}
	for k := 2; k < len(nodes)-1; k++ { // one node alone may be a wild reading
		// A part that overlaps the other is another scale only if it is far smaller.
		lo, hi := extremes(nodes[:k])
		low, high := extremes(nodes[k:])
		if low > hi || lo > high || math.Max(hi-lo, high-low) > inch/2*math.Min(hi-lo, high-low) {
			flips = min(flips, j.twoLevels(k, inch, anywhere), j.twoLevels(k, 1/inch, anywhere))
		}
	}
	return flips+faultOdds < math.Min(stays, course)
}

// twoLevels returns minus the logarithm of the likelihood that the motion turned at two
// levels, which from node k on are so many times larger.
func (j *judgement) twoLevels(k int, times, anywhere float64) (cost float64) {
	v := j.s.values[:0]
	for i, c := range j.s.nodes {
		x := c.Level + j.tr.Origin
		if i >= k {
			x /= times
		}
		v = append(v, x)
	}
	low, high := halves(v)
	if high-low <= dwells.Flicker*j.tr.Grid.Step { // a gauge that went over to inches counts far finer
		return math.Inf(1)
	}
	for i, c := range j.s.nodes {
		if i == k {
			low, high = low*times, high*times
		}
		x := c.Level + j.tr.Origin
		cost += j.atLevel(math.Min(math.Abs(x-low), math.Abs(x-high)), high-low, anywhere)
	}
	return cost
}

// atLevel is the part of a node that is so far off, by the density of Cauchy: as far as
// hands scatter at the most or a digit rounds, or else it is anywhere.
func (j *judgement) atLevel(off, swing, anywhere float64) float64 {
	width := math.Max(handShare*swing, math.Sqrt(digit.Rounded(j.tr.Grid.Step)))
	off /= width
	return math.Min(anywhere, math.Log(width*(1+off*off)))
}

// halves sorts the values and returns the medians of those below and above the middle
// of their range.
func halves(v []float64) (low, high float64) {
	slices.Sort(v)
	last := len(v) - 1
	cut := 0
	for cut < last && v[cut] <= (v[0]+v[last])/2 {
		cut++
	}
	return stat.MedianInPlace(v[:cut]), stat.MedianInPlace(v[cut:])
}
