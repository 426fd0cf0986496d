// Package rocking finds backlash in the trace of a wheel that is rocked by hand
// between its two stops, live or whole, and says what is wrong with the trace.
package rocking

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/dwells"
)

// A Rocking measures backlash on a live trace, one sample at a time, in
// constant memory and amortised constant time. It judges up to 64 of the newest
// dwells one by one and keeps the sum of those before. Make one with New. It is not
// safe for concurrent use.
//
// Samples are gathered into short blocks, and these parted into dwells and motion;
// besides, the turning points of the motion are noted. Which dwells are stops, and
// what is wrong with them, is judged from those two short lists alone.
type Rocking struct {
	seg  dwells.Segmenter
	opt  Options
	past past // what dwells amounted to that are no longer kept

	scratch judgeScratch
	rocks   int      // as last emitted
	emitted faultSet // as last emitted
	level   float64  // of the last stop emitted; NaN: none was
	told    float64  // beginning of the newest dwell looked at for an event
	look    float64  // next time to judge while the value stands still
	events  []Event
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
		seg: dwells.Segmenter{Resolution: r.opt.Resolution},
		opt: r.opt, level: math.NaN(), events: r.events[:0], scratch: r.scratch,
	}
}

// Add takes the next sample and returns what it brought about. The slice is
// reused by the next Add. A sample that is not finite is counted and left out;
// a time before the last one is taken as no time having passed.
func (r *Rocking) Add(s analysis.Sample) []Event {
	r.events = r.events[:0]
	if r.seg.Add(s) {
		r.parted()
	}
	return r.events
}

// parted makes room for dwells and tells what the newest brought about.
func (r *Rocking) parted() {
	if r.seg.Full() {
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
	if c.seg.Flush() {
		c.parted()
	}
	return &c, judge(&c.seg, &c.scratch)
}

// putAside sums up the older three quarters of the dwells kept and forgets them: the
// judgement takes time, and the rest is enough to judge the next by.
func (r *Rocking) putAside() {
	const old = dwells.Cap - dwells.Cap/4
	j := judge(&r.seg, &r.scratch)
	sum := j.total(r.seg.Dwells.List()[old-1].To)
	switch {
	case j.refuse:
		r.past.left += old
	case r.past.agrees(&sum, j.least()):
		r.past.add(&sum)
	default: // the gear was worked on: what it is now counts
		r.past.left += r.past.rests
		r.past.total = sum
	}
	r.seg.Forget(old)
}
