package rocking

import (
	"math"
	"slices"

	"crownlog/analysis"
)

// lookForGaps looks for silences in which the wheel may have moved.
func (j *judgement) lookForGaps() {
	s := j.s
	// One in twenty readings out of order is no packet that came late.
	if j.tr.back > 3 && 20*j.tr.back > j.tr.n { // the time stamps tell nothing
		j.faults.add(analysis.Gaps)
		j.refuse = true
	}
	if len(s.turns) < 2 {
		return
	}
	first, last := s.turns[0].from, s.turns[len(s.turns)-1].to
	for _, g := range j.tr.gaps.list() {
		if g.from < first || g.to > last {
			continue
		}
		// Within a dwell a silence hides nothing, unless a rock fits in it.
		within := func(c *stop) bool { return c.from <= g.from && c.to >= g.to }
		if g.to-g.from > math.Max(0.6*j.half, 2*gapFloor) || !slices.ContainsFunc(s.dwelt, within) {
			j.faults.add(analysis.Gaps)
		}
	}
}
