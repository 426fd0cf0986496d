package rocking

import "math"

// unitFlipped reports whether the scale changed by 25.4 during the trace: from some
// moment on the places where the motion turned are the same two levels as before it,
// but for that factor, or watchFlip saw small turns of that size.
func (j *judgement) unitFlipped() bool {
	nodes := j.s.nodes
	n := len(nodes)
	if j.tr.flip.sure || n < 4 {
		return j.tr.flip.sure
	}
	v := j.changed(n, 1, 0)
	low, high := halves(v)
	stay := math.Min(fit(v, low, high), fit(v, j.low.level+j.tr.origin, j.high.level+j.tr.origin))
	var rest [2*dwellCap + 3][2]float64 // extremes from a node on
	rest[n] = [2]float64{math.Inf(1), math.Inf(-1)}
	for k := n - 1; k >= 0; k-- {
		rest[k] = [2]float64{min(rest[k+1][0], nodes[k].level), max(rest[k+1][1], nodes[k].level)}
	}
	lo, hi := nodes[0].level, nodes[0].level
	for k := 1; k < n; k++ {
		low, high := rest[k][0], rest[k][1]
		lo, hi = min(lo, nodes[k-1].level), max(hi, nodes[k-1].level)
		// Both parts show both levels, or one lies apart from the other by three times
		// its range: then a few nodes are another scale and no partial rock.
		before, after := hi-lo, high-low
		ratio := math.Max(before, after) / math.Min(before, after)
		between := math.Max(low-hi, lo-high)
		if !(ratio > 0.6*inch && ratio < 1.6*inch) && between < 3*math.Max(before, after) {
			continue
		}
		v := j.changed(k, 1, (low+high-lo-hi)/2)
		low, high = halves(v)
		other := math.Min(stay, fit(v, low, high)+faultOdds) // or the zero was pressed
		for _, by := range [...]float64{inch, 1 / inch} {
			v := j.changed(k, by, 0)
			low, high := halves(v)
			// Flicker of a digit is none: a gauge that went over to inches counts far finer.
			if high-low > 2.5*j.tr.grid.step && fit(v, low, high)+float64(n-k)*math.Log(by)+faultOdds < other {
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

// halves returns the medians of the values below and above the middle of their range.
func halves(v []float64) (low, high float64) {
	sorted := append(v, v...)[len(v):]
	last := len(v) - 1
	medianInPlace(sorted)
	cut := 0
	for cut < last && sorted[cut] <= (sorted[0]+sorted[last])/2 {
		cut++
	}
	return medianInPlace(sorted[:cut]), medianInPlace(sorted[cut:])
}

// fit returns minus the logarithm of the likelihood of values at two levels, by the
// density of Cauchy: a node is off by a thirtieth of the swing, or by anything, which
// is no less likely than one in four hundred.
func fit(v []float64, low, high float64) float64 {
	width := (high - low) / 30
	cost := float64(len(v)) * math.Log(width)
	for _, x := range v {
		off := math.Min(math.Abs(x-low), math.Abs(x-high)) / width
		cost += math.Min(6, math.Log1p(off*off))
	}
	return cost
}
