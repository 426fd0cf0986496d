package rocking

import (
	"math"

	"crownlog/analysis"
)

// A gapList keeps the longest silences.
type gapList struct {
	at [8]struct{ from, to float64 }
	n  int
}

func (g *gapList) add(from, to float64) {
	i := g.n
	if g.n < len(g.at) {
		g.n++
	} else {
		i = 0
		for k := range g.at {
			if g.at[k].to-g.at[k].from < g.at[i].to-g.at[i].from {
				i = k
			}
		}
	}
	g.at[i].from, g.at[i].to = from, to
}

// lookForGaps looks for silences in which the wheel may have moved.
func (r *Rocking) lookForGaps(j *judgement) {
	s := &r.scratch
	if r.back > 3 && 20*r.back > r.n { // the time stamps tell nothing
		j.faults.add(analysis.Gaps)
		j.refuse = true
	}
	if len(s.turns) < 2 {
		return
	}
	first, last := s.turns[0].from, s.turns[len(s.turns)-1].to
	for i := range r.gaps.n {
		g := r.gaps.at[i]
		if g.from < first || g.to > last {
			continue
		}
		if g.to-g.from > math.Max(0.6*j.half, 2*gapFloor) || !r.insideRest(g.from, g.to) {
			j.faults.add(analysis.Gaps)
		}
	}
}

// insideRest reports whether the wheel was at the same stop before and after.
func (r *Rocking) insideRest(from, to float64) bool {
	s := &r.scratch
	for i := range s.turns {
		if c := &s.turns[i]; c.rested && c.from <= from && c.to >= to {
			return true
		}
	}
	return false
}
