// Package rocking finds backlash in the trace of a wheel that is rocked by hand
// between its two stops, live or whole, and says what is wrong with the trace.
package rocking

import (
	"math"

	"crownlog/analysis"
)

// A Rocking measures backlash on a live trace, one sample at a time, in
// constant memory and amortised constant time. It judges up to 64 of the newest
// dwells one by one and keeps the sum of those before. Make one with New. It is not safe for concurrent use.
//
// Samples are gathered into short blocks, and these parted into dwells and motion;
// besides, the turning points of the motion are noted. Which dwells are stops, and
// what is wrong with them, is judged from those two short lists alone.
type Rocking struct {
	segmenter
	opt  Options
	past past // what dwells amounted to that are no longer kept

	scratch judgeScratch
	rocks   int      // as last emitted
	emitted faultSet // as last emitted
	level   float64  // of the last stop emitted; NaN: none was
	told    float64  // beginning of the newest dwell looked at for an event
	look    float64  // next time to judge while the value stands still
	events  []Event
	doubt   analysis.Sample // a reading that may be wild, on our clock, relative to the first
	doubted bool
}

// New returns a detector that has seen no sample.
func New(o Options) *Rocking {
	r := &Rocking{opt: o}
	r.scratch.values = make([]float64, 0, manyStops*manyStops) // no fewer than the pairs of stops, or than all nodes
	r.Reset()
	return r
}

// Reset forgets all samples and keeps the options.
func (r *Rocking) Reset() {
	*r = Rocking{
		segmenter: segmenter{resolution: r.opt.Resolution},
		opt:       r.opt, level: math.NaN(), events: r.events[:0], scratch: r.scratch,
	}
}

// Add takes the next sample and returns what it brought about. The slice is
// reused by the next Add. A sample that is not finite is counted and left out;
// a time before the last one is taken as no time having passed.
func (r *Rocking) Add(s analysis.Sample) []Event {
	r.events = r.events[:0]
	x, t := s.X-r.origin, s.T+r.shift
	switch dt := t - r.clock; {
	case x-x != 0 || s.T-s.T != 0 || r.n > 0 && dt-dt != 0: // NaN or infinite
		r.bad++
		return r.events
	case r.n == 0:
		r.start(s)
		return r.events
	case dt < 0:
		r.back++
		r.shift -= dt
		t = r.clock
	}
	r.clock = t
	// A leap that no hand makes waits for the next reading to tell whether it was wild.
	switch leaps := math.Abs(x-r.x) > playMost*r.known(); {
	case leaps && !r.doubted:
		r.doubt, r.doubted = analysis.Sample{T: t, X: x}, true
		return r.events
	case leaps: // twice: neither was wild
		r.take(r.doubt.T, r.doubt.X)
	}
	r.doubted = false
	r.take(t, x)
	return r.events
}

// take takes a reading that is sound. A gauge that sends only on change has meant the
// reading before until now, but what is longer than the blocks kept is a silence.
func (r *Rocking) take(t, x float64) {
	if dt := t - r.t; !r.repeats && dt > max(moment, minDwellN*r.quickest) && dt < 2*keptBlocks*blockSpan {
		for at := r.t + blockSpan; at < t-blockSpan/2; at += blockSpan {
			r.reading(at, r.x)
		}
	}
	r.repeats = r.repeats || x == r.x
	r.reading(t, x)
}

// reading puts a reading into the open block or begins another. A block of a slow
// gauge is one reading and is handed on at once.
func (r *Rocking) reading(t, x float64) {
	d, dt := x-r.x, t-r.t
	silent := dt > 0 && r.tick(dt)
	r.n++
	if d != 0 { // for time
		r.grid.Add(d)
	}
	r.still.add(d == 0, dt < moment && r.swing > 0 && math.Abs(d) > r.swing/2, t, x)
	switch gaps := r.gaps.list(); {
	case silent:
		r.gaps.push(gap{r.t, t})
		r.missing = dt / r.interval / 2
		r.still.start(t, x)
		d = 0
	case r.missing > 0 && t-gaps[len(gaps)-1].to < blockSpan:
		// Most of what was missing comes at once after all: the reader slept, and no
		// reading was lost.
		if r.missing--; r.missing <= 0 {
			r.gaps.pop()
		}
	}
	r.t, r.x = t, x
	if r.cur.n > 0 && t-r.cur.from >= blockSpan {
		r.flush()
	}
	r.cur.add(t, x, d)
	if r.interval > blockSpan {
		r.flush()
	}
}

// flush hands the open block on and tells what it brought about.
func (r *Rocking) flush() {
	r.push(&r.cur)
	r.cur.n = 0
	if r.dwells.n == dwellCap {
		r.putAside()
	}
	if !r.opt.Quiet {
		r.announce()
	}
}

// Result returns the backlash of all samples so far. It may be called at any
// time and leaves the detector as it was.
func (r *Rocking) Result() Backlash {
	c, j := r.whole()
	return c.report(&j)
}

// whole judges all samples so far on a copy of the detector.
func (r *Rocking) whole() (*Rocking, judgement) {
	c := *r
	c.opt.Quiet, c.events = true, nil
	if c.cur.n > 0 {
		c.flush()
	}
	return &c, judge(&c.segmenter, &c.scratch)
}

// putAside sums up the older three quarters of the dwells kept and forgets them: the
// judgement takes time, and the rest is enough to judge the next by.
func (r *Rocking) putAside() {
	const old = dwellCap - dwellCap/4
	j := judge(&r.segmenter, &r.scratch)
	sum := j.total(r.dwells.all[old-1].to)
	switch {
	case j.refuse:
		r.past.left += old
	case r.past.agrees(&sum, j.least()):
		r.past.add(&sum)
	default: // the gear was worked on: what it is now counts
		r.past.left += r.past.rests
		r.past.total = sum
	}
	r.dwells.drop(old)
	gone := 0
	for gone < r.turns.n && r.turns.all[gone].t < r.dwells.all[0].from {
		gone++
	}
	r.turns.drop(gone)
}
