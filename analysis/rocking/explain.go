package rocking

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

// fit takes the size as Theil and Sen take a slope: the median over all pairs of
// stops of one side, of a long series over those half of it apart (Theil's incomplete
// method); and the levels as medians of what is left.
func (h *hypothesis) fit(s *judgeScratch) {
	v := s.values[:0]
	sides := [...]series{s.low, s.high}
	for _, side := range sides {
		n := len(side)
		for i, a := range side {
			for k := i + 1; k < n; k++ {
				if n > manyStops && k != i+n/2 {
					continue
				}
				if d := h.share(side[k]) - h.share(a); d != 0 {
					v = append(v, (side[k].Level-a.Level)/d)
				}
			}
		}
	}
	h.size = 0
	if len(v) > 0 {
		h.size = stat.MedianInPlace(v)
	}
	for i, side := range sides {
		v = v[:0]
		for _, c := range side {
			v = append(v, c.Level-h.size*h.share(c))
		}
		h.level[i] = stat.MedianInPlace(v)
	}
}

// weigh puts the hypothesis into the table, where it is likelier than what stands
// there and large enough to speak of.
func (j *judgement) weigh(i int, h hypothesis) {
	s := j.s
	h.fit(s)
	reach := h.reach(s.dwelt[len(s.dwelt)-1].t - s.dwelt[0].t)
	switch {
	case h.shape == stays:
	case reach <= j.least(),
		h.shape == turns && reach < j.tr.Near(),                              // one stop, and a gear that wobbles
		h.fault == analysis.ZeroShift && reach < dwells.Flicker*j.tr.Count(), // the base was nudged by a count, as is advised
		!(h.high && h.low) && reach > dwells.PlayMost*j.swing:
		return
	default:
		h.cost = faultOdds
	}
	var sum float64
	for _, c := range s.dwelt {
		sum += j.squared(h.miss(c))
		if h.shape == turns && h.moves(c) {
			h.cost += math.Ln2 // to say at which of the two it is takes a bit
		}
	}
	h.cost += unlikely(len(s.dwelt), sum)
	if j.table[i].cost == 0 || h.cost < j.table[i].cost {
		j.table[i] = h
	}
}

// explain chooses the likeliest of what the stops may have done, and names it.
func (j *judgement) explain() {
	s, n := j.s, len(j.s.dwelt)
	span := s.dwelt[n-1].t - s.dwelt[0].t
	widest := max(s.low.width(), s.high.width())
	j.table = hypotheses
	for i, h := range hypotheses {
		h.middle = s.dwelt[0].t + span/2
		switch {
		case h.shape != stays && (n <= minRocks || widest <= j.least()): // two rocks lie on any line
		case h.shape == steps:
			// One stop before or after is an odd stop; of many every few will do.
			for k := 1; k+2 < n; k += max(1, n/manyStops) {
				h.at = s.dwelt[k].t
				if h.high && h.low || h.high && s.high.parted(h.at) || h.low && s.low.parted(h.at) {
					j.weigh(i, h)
				}
			}
		case h.shape == turns:
			side := s.low
			if h.high {
				side = s.high
			}
			if at, ok := side.halves(s.values); ok {
				h.at = at
				j.weigh(i, h)
			}
		default:
			j.weigh(i, h)
		}
	}
	best := &j.table[0]
	for i := range j.table {
		if c := &j.table[i]; c.cost > 0 && c.cost < best.cost {
			best = c
		}
	}
	j.course = j.table[0]
	if !j.nudged && j.followNudges(best) {
		j.explain()
		return
	}
	j.course = *best
	switch {
	case best.fault == analysis.ZeroShift && j.farShift(best):
		j.faults.add(analysis.OffGear)
	case best.fault != "":
		j.faults.add(best.fault)
	}
	// A drift is taken out, but a wide one need not be straight.
	j.refuse = best.fault != "" && (best.fault != analysis.BaseCreep || best.reach(span) > dwells.PlayMost*j.swing)
}

// farShift reports whether a step of both stops is so large that the plunger
// has come off its tooth rather than the gauge been bumped; one that leaves the
// reading about zero is a zero pressed, however large.
func (j *judgement) farShift(h *hypothesis) bool {
	const bump = 1 // mm
	now := (h.level[0]+h.level[1])/2 + h.size + j.tr.Origin
	return math.Abs(h.size) > bump+dwells.PlayMost*j.swing && math.Abs(now) > dwells.PlayMost*j.swing
}
