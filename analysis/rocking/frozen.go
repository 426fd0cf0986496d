package rocking

import (
	"math"

	"crownlog/analysis"
)

// lookForStillness looks for a value that stopped changing: far longer than
// the noise elsewhere allows, or, of a gauge without noise, far longer than
// the wheel rested otherwise.
func (j *judgement) lookForStillness(open *dwell) {
	if j.half == 0 || j.faults.has(analysis.EndOfTravel) {
		return
	}
	// A held value that let go with a jump: no hand crosses half the swing between
	// two readings, so the wheel moved while the value stood.
	if l := j.tr.still.jumped; l.length() >= 0.5 && l.n >= 6 && !j.faults.has(analysis.ZeroShift) && !j.faults.has(analysis.OffGear) {
		if o := j.others(l, open); o.dwells >= 2 && l.length() > 1.5*o.usual {
			j.faults.add(analysis.Frozen)
			return
		}
	}
	// Else by the longest stand alone, from 0.6 s and six readings on: a hand dwells
	// for half a second, and fewer readings alike are chance.
	l := j.tr.still.longest
	if l.length() < 0.6 || l.n < 6 {
		return
	}
	o := j.others(l, open)
	if o.dwells < 2 {
		return
	}
	length, last := l.length(), j.tr.t-l.to < 2*j.tr.interval
	// Against readings that flicker elsewhere: as many alike in a row by chance once
	// in 1e5 traces. Of still ones: far longer than the hand dwelt otherwise, the end
	// of the trace, where it may just have let go of the wheel, needs more.
	switch {
	case o.share > 0.1 && length > 1.2*o.usual && float64(l.n)*math.Log1p(-math.Min(o.share, 0.99)) < math.Log(1e-5),
		!last && length > math.Max(2, 2.5*math.Max(o.longest, j.half)) && l.from > j.tr.first+o.usual,
		length > math.Max(3, 4*math.Max(o.usual, j.half)) && l.from > j.tr.first+o.usual:
		j.faults.add(analysis.Frozen)
	}
}

// otherDwells describes the dwells besides a run of readings all the same.
type otherDwells struct {
	dwells         int
	usual, longest float64 // s, median and most
	share          float64 // least share of readings that differ from the one before, at the level of the run where it is known
}

func (j *judgement) others(l stillRun, open *dwell) otherDwells {
	var o otherDwells
	lengths := j.s.values[:0]
	near := math.Max(j.tr.tol, 0.1*j.tr.swing)
	var n, nearby int
	every, close := 1.0, 1.0 // least share of changes
	each := func(d *dwell) {
		if d.to > l.from && d.from < l.to {
			return
		}
		lengths = append(lengths, d.to-d.from)
		o.longest = math.Max(o.longest, d.to-d.from)
		if d.core < 5 {
			return
		}
		share := float64(d.changes) / float64(d.core)
		n++
		every = math.Min(every, share)
		if math.Abs(d.level-l.x) < near {
			nearby++
			close = math.Min(close, share)
		}
	}
	for i := range j.tr.dwells.list() {
		each(&j.tr.dwells.all[i])
	}
	if open != nil {
		each(open)
	}
	o.dwells, o.usual = len(lengths), medianInPlace(lengths)
	switch {
	case nearby >= 2:
		o.share = close
	case n >= 2:
		o.share = every
	}
	return o
}
