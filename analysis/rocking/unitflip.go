package rocking

import "math"

// unitFlipped reports whether the scale changed by 25.4 during the trace: the
// stops before and after some moment are the same but for that factor, or
// small turns of that size were seen by watchFlip.
func (j *judgement) unitFlipped() bool {
	if j.tr.flip.sure {
		return true
	}
	nodes := j.s.nodes
	for k := 2; k+2 <= len(nodes); k++ {
		before := math.Abs(nodes[k-1].level - nodes[k-2].level)
		across := math.Abs(nodes[k].level - nodes[k-1].level)
		after := math.Abs(nodes[k+1].level - nodes[k].level)
		if across < inch/14*before && across < inch/14*after {
			continue // nothing happened here
		}
		for g := k; g <= k+3 && g+2 <= len(nodes); g++ { // the flip itself may leave odd nodes
			if j.scaled(nodes[:k], nodes[g:]) {
				return true
			}
		}
	}
	return false
}

// scaled reports whether the nodes before a moment and those after it have the
// same high and low levels but for a factor of 25.4.
func (j *judgement) scaled(earlier, later []stop) bool {
	ha, la, na := j.s.levels(earlier)
	hb, lb, nb := j.s.levels(later)
	if !apart(earlier, later) && (!weaves(earlier, (ha+la)/2) || !weaves(later, (hb+lb)/2)) {
		return false
	}
	ratio := (hb - lb) / (ha - la)
	if ratio < 1 {
		ha, la, hb, lb, ratio = hb, lb, ha, la, 1/ratio
	}
	if ha-la < 2.5*j.tr.grid.step { // flicker of a digit: a gauge that went over to inches counts far finer
		return false
	}
	// Single levels must fit closely; where medians of two or more stand behind
	// them, a scatter of the coarser scale is allowed.
	allow := 0.02
	if min(na, nb) >= 2 {
		allow = 0.2
	}
	// The ratio alone is loose by a third, for swings of a few counts are; the levels
	// themselves must fit too, and no bump or lift moves both of them to 25.4 times.
	wide := hb - lb
	return ratio > 0.72*inch && ratio < 1.35*inch &&
		math.Abs(hb+j.tr.origin-inch*(ha+j.tr.origin)) < allow*wide &&
		math.Abs(lb+j.tr.origin-inch*(la+j.tr.origin)) < allow*wide
}

// apart reports whether no later node is near the earlier ones, by three times
// their whole range: then even a few nodes are another scale and no partial rock.
func apart(earlier, later []stop) bool {
	lo, hi := extremes(earlier)
	for i := range later {
		if x := later[i].level; x > lo-3*(hi-lo) && x < hi+3*(hi-lo) {
			return false
		}
	}
	return true
}

// weaves reports whether the nodes go to and fro past the middle, most of the
// dwells among them if there are any, which a plunger lifted once does not.
func weaves(nodes []stop, middle float64) bool {
	crossings := func(dwelt bool) (n, among int) {
		high := false
		for i := range nodes {
			if dwelt && !nodes[i].dwelt {
				continue
			}
			was := high
			if high = nodes[i].level > middle; among > 0 && high != was {
				n++
			}
			among++
		}
		return n, among
	}
	if n, dwells := crossings(true); dwells > 1 {
		return n >= 1 && 2*n >= dwells-1
	}
	n, _ := crossings(false)
	return n >= 2
}

// levels returns the median of the upper and of the lower levels of the nodes,
// of the dwells alone where there are enough, and how many there are of the
// fewer.
func (s *judgeScratch) levels(nodes []stop) (high, low float64, n int) {
	dwells := 0
	for i := range nodes {
		if nodes[i].dwelt {
			dwells++
		}
	}
	use := func(i int) bool { return dwells < 3 || nodes[i].dwelt }
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range nodes {
		if use(i) {
			lo, hi = math.Min(lo, nodes[i].level), math.Max(hi, nodes[i].level)
		}
	}
	middle := (lo + hi) / 2
	side := func(up bool) (float64, int) {
		v := s.values[:0]
		for i := range nodes {
			if x := nodes[i].level; use(i) && x > middle == up {
				v = append(v, x)
			}
		}
		return medianInPlace(v), len(v)
	}
	high, nh := side(true)
	low, nl := side(false)
	return high, low, min(nh, nl)
}
