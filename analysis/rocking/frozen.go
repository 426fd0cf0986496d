package rocking

import (
	"math"

	"crownlog/analysis"
)

// A stillness watches for readings that do not change at all.
type stillness struct {
	now     stillRun
	longest stillRun
	jumped  stillRun // the longest that ended in a jump of nearly the whole swing
}

// A stillRun is readings in a row that were all the same.
type stillRun struct {
	from, to float64
	n        int
	x        float64
}

func (s stillRun) length() float64 { return s.to - s.from }

func (s *stillness) start(x, t float64) { s.now = stillRun{from: t, to: t, n: 1, x: x} }

// add takes the difference d of the reading x at t from the one before. A d of
// jump or more is one that no hand makes between two readings; 0 if unknown.
func (s *stillness) add(d, x, t, jump float64) {
	if d == 0 {
		s.now.n++
		s.now.to = t
		if s.now.length() > s.longest.length() {
			s.longest = s.now
		}
		return
	}
	if jump > 0 && (d >= jump || -d >= jump) && s.now.length() > s.jumped.length() {
		s.jumped = s.now
	}
	s.start(x, t)
}

// lookForStillness looks for a value that stopped changing: far longer than
// the noise elsewhere allows, or, of a gauge without noise, far longer than
// the wheel rested otherwise.
func (r *Rocking) lookForStillness(j *judgement, open *rest) {
	if j.half == 0 || j.faults.has(analysis.EndOfTravel) {
		return
	}
	if l := r.still.jumped; l.length() >= 0.5 && l.n >= 6 && !j.faults.has(analysis.ZeroShift) && !j.faults.has(analysis.OffGear) {
		if o := r.others(l, open); o.rests >= 2 && l.length() > 1.5*o.usual {
			j.faults.add(analysis.Frozen)
			return
		}
	}
	l := r.still.longest
	if l.length() < 0.6 || l.n < 6 {
		return
	}
	o := r.others(l, open)
	if o.rests < 2 {
		return
	}
	length, last := l.length(), r.t-l.to < 2*r.interval
	switch {
	case o.share > 0.1 && length > 1.2*o.usual && float64(l.n)*math.Log1p(-math.Min(o.share, 0.99)) < math.Log(1e-5),
		!last && length > math.Max(2, 2.5*math.Max(o.longest, j.half)) && l.from > r.first+o.usual,
		length > math.Max(3, 4*math.Max(o.usual, j.half)) && l.from > r.first+o.usual:
		j.faults.add(analysis.Frozen)
	}
}

// otherRests describes the rests besides a run of readings all the same.
type otherRests struct {
	rests          int
	usual, longest float64 // s, median and most
	share          float64 // least share of readings that differ from the one before, at the level of the run where it is known
}

func (r *Rocking) others(l stillRun, open *rest) otherRests {
	var o otherRests
	lengths := r.scratch.values[:0]
	near := math.Max(r.tol, 0.1*r.swing)
	var n, nearby int
	every, close := 1.0, 1.0 // least share of changes
	each := func(d *rest) {
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
	for i := range r.rests.len() {
		each(r.rests.at(i))
	}
	if open != nil {
		each(open)
	}
	o.rests, o.usual = len(lengths), medianInPlace(lengths)
	switch {
	case nearby >= 2:
		o.share = close
	case n >= 2:
		o.share = every
	}
	return o
}
