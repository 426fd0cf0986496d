package rocking

import (
	"math"

	"crownlog/analysis"
)

// lookForStillness looks for a value that stopped changing: far longer than the
// wheel rested otherwise, or let go with a jump, the wheel having moved while the
// value stood, or longer than the noise elsewhere allows.
func (j *judgement) lookForStillness() {
	const (
		chance = 1e-5 // of as many readings alike in a row, over all traces of a working life
		far    = 2.5  // times the longest other rest; the end of the trace, where the hand may have let go, needs four times it
		rest   = 0.8  // s: no hand is counted on to rest for less
	)
	frozen := func(l stillRun, times float64, still bool) bool {
		usual, longest, share, ok := j.otherDwells(l)
		switch length := l.length(); {
		case !ok || l.n < minDwellN:
			return false
		case still:
			if j.tr.t-l.to < 2*j.tr.interval {
				length /= 1.6
			}
			return length > far*max(rest, longest, j.half)
		case times > 0:
			return length > times*usual
		default:
			return length > 1.2*usual && float64(l.n)*math.Log1p(-math.Min(share, 0.99)) < math.Log(chance)
		}
	}
	t := &j.tr.still
	named := j.faults.has(analysis.EndOfTravel) || j.half == 0
	jumps := !j.faults.has(analysis.ZeroShift) && !j.faults.has(analysis.OffGear)
	if !named && (jumps && frozen(t.jumped, 1.5, false) || frozen(t.longest, 0, false) || frozen(t.longest, 0, true)) {
		j.faults.add(analysis.Frozen)
	}
}

// otherDwells describes the dwells besides a run of readings all the same, if there
// are two at least: their median and greatest length, and the least share of readings
// that differ from the one before, at the level of the run where two show it.
func (j *judgement) otherDwells(l stillRun) (usual, longest, share float64, ok bool) {
	v := j.s.values[:0]
	close, nearby := 1.0, 0
	share = 1
	for _, c := range j.s.nodes {
		if !c.dwelt || c.to > l.from && c.from < l.to {
			continue
		}
		v = append(v, c.to-c.from)
		longest = math.Max(longest, c.to-c.from)
		changes := float64(c.changes) / float64(c.core)
		share = math.Min(share, changes)
		if math.Abs(c.level-l.x) < j.tr.near() {
			nearby++
			close = math.Min(close, changes)
		}
	}
	if nearby >= 2 {
		share = close
	}
	return medianInPlace(v), longest, share, len(v) >= 2
}
