package rocking

import (
	"math"
	"slices"
)

// unitFlipped reports whether the scale changed by 25.4 during the trace: the
// stops before and after some moment are the same but for that factor, or
// small turns of that size were seen by watchFlip.
func (j *judgement) unitFlipped() bool {
	if j.tr.flip.sure {
		return true
	}
	nodes := j.s.nodes
	for k := 1; k < len(nodes); k++ {
		a, b := math.Abs(nodes[k-1].level+j.tr.origin), math.Abs(nodes[k].level+j.tr.origin)
		if math.Max(a, b) < inch/5*math.Min(a, b) {
			continue // nothing happened here
		}
		if k >= 4 && j.inInches(nodes[:k], nodes[k:]) || k+4 <= len(nodes) && j.inInches(nodes[k:], nodes[:k]) {
			return true
		}
	}
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

// inInches reports whether all of the small nodes lie away from the others, but
// would be among them if they were inches: swings so small need not show.
func (j *judgement) inInches(large, small []stop) bool {
	lo, hi := extremes(large)
	slack := 0.2 * (hi - lo)
	return apart(large, small) && !slices.ContainsFunc(small, func(c stop) bool {
		x := inch*(c.level+j.tr.origin) - j.tr.origin
		return x < lo-slack || x > hi+slack
	})
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
	off := func(b, a float64) float64 { return math.Abs(b + j.tr.origin - inch*(a+j.tr.origin)) }
	return ratio > 0.72*inch && ratio < 1.35*inch && math.Max(off(hb, ha), off(lb, la)) < allow*(hb-lb)
}

// apart reports whether no later node is near the earlier ones, by three times
// their whole range: then even a few nodes are another scale and no partial rock.
func apart(earlier, later []stop) bool {
	lo, hi := extremes(earlier)
	return !slices.ContainsFunc(later, func(c stop) bool { return c.level > lo-3*(hi-lo) && c.level < hi+3*(hi-lo) })
}

// weaves reports whether the nodes go to and fro past the middle, the dwells
// among them if there are two, which a plunger lifted once does not.
func weaves(nodes []stop, middle float64) bool {
	dwells := dwelling(nodes)
	n, last := 0, 0.0
	for i := range nodes {
		if dwells < 2 || nodes[i].dwelt {
			if off := nodes[i].level - middle; off*last <= 0 {
				n, last = n+1, off
			}
		}
	}
	if dwells > 1 {
		return n > 1 && 2*n > dwells
	}
	return n > 2
}

// dwelling counts the nodes at which the wheel dwelt.
func dwelling(nodes []stop) (n int) {
	for i := range nodes {
		if nodes[i].dwelt {
			n++
		}
	}
	return n
}

// levels returns the median of the upper and of the lower levels of the nodes,
// of the dwells alone where there are enough, and how many there are of the
// fewer.
func (s *judgeScratch) levels(nodes []stop) (high, low float64, n int) {
	s.values = s.values[:0]
	some := dwelling(nodes) < 3
	for i := range nodes {
		if some || nodes[i].dwelt {
			s.values = append(s.values, nodes[i].level)
		}
	}
	slices.Sort(s.values)
	last := len(s.values) - 1
	middle := (s.values[0] + s.values[last]) / 2
	k := 0
	for k < last && s.values[k] <= middle {
		k++
	}
	return medianInPlace(s.values[k:]), medianInPlace(s.values[:k]), min(k, last+1-k)
}
