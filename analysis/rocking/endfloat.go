package rocking

import (
	"math"

	"crownlog/analysis"
)

// lookForFloat looks for dwells passed on the way at one level: the carrier rests
// against one bearing before the other. A hand pauses anywhere. Three in five of
// them, three at least and one in every other rock, must lie closer together than
// chance puts k of n within a width w of the room between the stops:
//
//	k·C(n,k)·(w/room)^(k-1)
//
// A display adds a count to the width: of few counts between the stops any three
// pauses are alike.
// Source: expectation of the scan statistic, Glaz, Naus and Wallenstein 2001, 2.
func (j *judgement) lookForFloat() {
	s := j.s
	if j.refuse || j.nudged || j.swing == 0 {
		return
	}
	const mostOf = 0.6
	v := s.values[:0]
	low, high := j.course.level[0], j.course.level[1]
	near := math.Max(nearStop*j.swing, oddCounts*j.tr.count())
	for _, c := range s.passed {
		if c.level < high-near && c.level > low+near && c.to-c.from > minDwell {
			v = append(v, c.level)
		}
	}
	n, room := len(v), high-low-2*near
	medianInPlace(v)
	for k := max(minRocks, int(math.Ceil(mostOf*float64(n)))); k <= n; k++ {
		width, chance := math.Inf(1), float64(k)
		for i := range n - k + 1 {
			width = math.Min(width, v[i+k-1]-v[i]+j.tr.count())
			if i > 0 {
				chance *= float64(k+i) / float64(i) // in the end C(n,k)
			}
		}
		if 4*k >= len(s.turns) && width < room && chance*math.Pow(width/room, float64(k-1)) < 0.01 {
			j.faults.add(analysis.EndFloat)
			j.refuse = true
		}
	}
}
