package rocking

import (
	"math"
	"slices"

	"crownlog/analysis"
)

// lookForFloat looks for a third level: dwells passed on the way at one
// level again and again, or a stop found now at one level and now at another.
func (j *judgement) lookForFloat() {
	if j.refuse || j.nudged || j.swing == 0 {
		return
	}
	if j.passedOften() || j.twoLevels(j.s.high) || j.twoLevels(j.s.low) {
		j.faults.add(analysis.EndFloat)
		j.refuse = true
	}
}

// passedOften reports whether dwells on the way from stop to stop lie at one level:
// the carrier rests against one bearing before the other. A hand pauses anywhere.
func (j *judgement) passedOften() bool {
	s := j.s
	v := s.values[:0]
	for _, c := range s.dwelt {
		v = append(v, c.to-c.from)
	}
	long := 0.3 * medianInPlace(v) // a hand that feels a stop dwells there
	v = v[:0]
	near := math.Max(0.08*j.swing, 1.213*j.tr.count()) // nearer it is the stop itself
	for _, c := range s.passed {
		if c.level < j.high.level-near && c.level > j.low.level+near && c.to-c.from > long {
			v = append(v, c.level)
		}
	}
	if len(v) < 3 {
		return false
	}
	slices.Sort(v)
	alike := j.cluster(v, j.high.level-j.low.level-2*near)
	// Three of them, most of all pauses, and one in every other rock at least.
	return alike >= 3 && 10*alike >= 6*len(v) && 4*alike >= len(s.turns)
}

// cluster returns how many of the sorted levels v agree far better than
// pauses at random places within the room would; 0 for none. Of n such levels
//
//	k·C(n,k)·(w/room)^(k-1)
//
// groups of k are expected within a width of w by chance; a display adds a
// count to the width. The least likely group is the one meant.
// Levels within a fixed width would not do: of few counts between the stops any
// three pauses are alike.
// Source: expectation of the scan statistic, Glaz, Naus and Wallenstein 2001, 2.
func (j *judgement) cluster(v []float64, room float64) int {
	const sure = 0.01
	least, alike := sure, 0
	n := len(v)
	for i := range v {
		ways := float64(n) // C(n,k)
		for k := 2; i+k <= n; k++ {
			ways *= float64(n-k+1) / float64(k)
			share := (v[i+k-1] - v[i] + j.tr.count()) / room
			if share >= 1 {
				break
			}
			if p := float64(k) * ways * math.Pow(share, float64(k-1)); p < least {
				least, alike = p, k
			}
		}
	}
	return alike
}

// twoLevels reports whether the stop was found at two levels in turn, each
// repeated closely.
func (j *judgement) twoLevels(side series) bool {
	n := len(side)
	if n < 5 {
		return false
	}
	v := side.levels(j.s.values)
	slices.Sort(v)
	cut, gap := 0, 0.0
	for i := 1; i < n; i++ {
		if d := v[i] - v[i-1]; d > gap {
			cut, gap = i, d
		}
	}
	tight := math.Max(0.04*j.swing, 0.613*j.tr.count())
	if j.quiet {
		tight = math.Max(tight, 1.113*j.tr.count())
	}
	least := max(2, (3*n+9)/10) // three in ten at either level: fewer are partial rocks
	if cut < least || n-cut < least || gap < math.Max(0.08*j.swing, 1.613*j.tr.count()) || gap > 1.5*j.swing ||
		v[cut-1]-v[0] > tight || v[n-1]-v[cut] > tight {
		return false
	}
	level, changes := (v[cut]+v[cut-1])/2, 0
	for i := 1; i < n; i++ {
		if (side[i].level > level) != (side[i-1].level > level) {
			changes++
		}
	}
	return changes >= 2
}
