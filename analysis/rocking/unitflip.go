package rocking

import "math"

const inch = 25.4 // mm, exactly

// unitFlipped reports whether the scale changed by 25.4 during the trace: from some
// moment on the places where the motion turned are the same two levels as before it,
// but for that factor, or watchFlip saw small turns of that size.
func (j *judgement) unitFlipped() bool {
	nodes := j.s.nodes
	n := len(nodes)
	if n < 4 {
		return false
	}
	v := j.changed(n, 1, 0)
	low, high := halves(v)
	stay := math.Min(fit(v, low, high), fit(v, j.course.level[0]+j.tr.origin, j.course.level[1]+j.tr.origin))
	for k := 1; k < n; k++ {
		lo, hi := extremes(nodes[:k])
		low, high := extremes(nodes[k:])
		// Both parts show both levels, or one lies apart from the other by three times
		// its range: then a few nodes are another scale and no partial rock.
		before, after := hi-lo, high-low
		ratio := math.Max(before, after) / math.Min(before, after)
		between := math.Max(low-hi, lo-high)
		if !(math.Abs(math.Log(ratio/inch)) < 0.5) && between < 3*math.Max(before, after) {
			continue
		}
		v := j.changed(k, 1, (low+high-lo-hi)/2)
		low, high = halves(v)
		other := math.Min(stay, fit(v, low, high)+faultOdds) // or the zero was pressed
		for _, by := range [...]float64{inch, 1 / inch} {
			v := j.changed(k, by, 0)
			low, high := halves(v)
			// Flicker of a digit is none: a gauge that went over to inches counts far finer.
			if high-low > flicker*j.tr.grid.step && fit(v, low, high)+float64(n-k)*math.Log(by)+faultOdds < other {
				return true
			}
		}
	}
	return false
}

// changed returns the readings at the nodes, those from k on as they were before
// they became so many times larger and as much more.
func (j *judgement) changed(k int, times, more float64) []float64 {
	v := j.s.values[:0]
	for i, c := range j.s.nodes {
		x := c.level + j.tr.origin
		if i >= k {
			x = (x - more) / times
		}
		v = append(v, x)
	}
	return v
}

// halves sorts the values and returns the medians of those below and above the middle
// of their range.
func halves(v []float64) (low, high float64) {
	medianInPlace(v)
	last := len(v) - 1
	cut := 0
	for cut < last && v[cut] <= (v[0]+v[last])/2 {
		cut++
	}
	return medianInPlace(v[:cut]), medianInPlace(v[cut:])
}

// fit returns minus the logarithm of the likelihood of values at two levels, by the
// density of Cauchy: a node is off by a fortieth of the swing, or by anything, which
// is no less likely than one in four hundred; both are tuned on the rows of unit flips.
func fit(v []float64, low, high float64) float64 {
	width := (high - low) / 40
	cost := float64(len(v)) * math.Log(width)
	for _, x := range v {
		off := math.Min(math.Abs(x-low), math.Abs(x-high)) / width
		cost += math.Min(6, math.Log1p(off*off))
	}
	return cost
}
