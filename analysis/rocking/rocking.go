// Package rocking finds backlash in the trace of a wheel that is rocked by hand
// between its two stops, live or whole, and says what is wrong with the trace.
package rocking

import (
	"crownlog/analysis"
)

// A Rocking measures backlash on a live trace, one sample at a time, in
// constant memory and amortised constant time. It remembers the newest 64
// dwells. Make one with New. It is not safe for concurrent use.
//
// Samples are gathered into short blocks; blocks that stay within a few counts
// for 0.2 s become a dwell; in parallel the turning points of the motion are
// noted. Which dwells are stops, and what is wrong with them, is judged from
// those two short lists alone.
type Rocking struct {
	segmenter
	opt Options

	scratch judgeScratch
	rocks   int      // as last emitted
	emitted faultSet // as last emitted
	level   float64  // of the last stop emitted
	any     bool     // a stop was emitted
	look    float64  // next time to judge while the value stands still
	lifted  bool
	away    int // blocks in a row far outside both stops
	events  []Event
	quiet   bool // no events: a copy that only answers Result
}

// New returns a detector that has seen no sample.
func New(o Options) *Rocking {
	r := &Rocking{opt: o, events: make([]Event, 0, 8)}
	r.resolution, r.window = o.Resolution, make([]block, 0, windowCap)
	r.scratch.init()
	r.open.reset()
	return r
}

// Reset forgets all samples and keeps the options.
func (r *Rocking) Reset() {
	*r = Rocking{segmenter: segmenter{resolution: r.resolution, window: r.window[:0]}, opt: r.opt, events: r.events[:0], scratch: r.scratch}
	r.open.reset()
}

// Add takes the next sample and returns what it brought about. The slice is
// reused by the next Add. A sample that is not finite is counted and left out;
// a time before the last one is taken as no time having passed.
func (r *Rocking) Add(s analysis.Sample) []Event {
	r.events = r.events[:0]
	x := s.X - r.origin
	if x-x != 0 || s.T-s.T != 0 { // NaN or infinite
		r.bad++
		return r.events
	}
	if !r.started {
		r.start(s)
		return r.events
	}
	t := s.T + r.shift
	dt := t - r.t
	if dt-dt != 0 {
		r.bad++
		return r.events
	}
	if dt < 0 {
		r.back++
		r.shift += -dt
		t, dt = r.t, 0
	} else if dt == 0 {
		r.packets = true
	}
	r.n++
	gap := dt > 0 && r.tick(dt)
	d := x - r.x
	d2 := r.learn(t, x, d, dt, gap)
	r.gather(t, x, d, d2, gap)
	return r.events
}

// gather puts the reading into the open block or begins another. A block of a
// slow gauge is one reading and is handed on at once, unless more with the same
// time may follow.
func (r *Rocking) gather(t, x, d, d2 float64, gap bool) {
	if r.cur.n > 0 {
		if t-r.cur.from < blockSpan {
			r.cur.merge(newBlock(t, x, d, d2, false))
			if r.dwelling {
				r.dwellNoise.add(d)
			}
			return
		}
		r.flush()
	}
	r.cur = newBlock(t, x, d, d2, gap)
	if r.interval > blockSpan {
		if !r.packets || r.interval > slowGauge {
			r.flush()
		}
		if r.dwelling && r.open.used > 1 && !gap {
			r.dwellNoise.add(d)
		}
	}
}

// flush hands the open block on and tells what it brought about.
func (r *Rocking) flush() {
	b := r.cur
	r.cur.n = 0
	if r.swing > 0 {
		r.watchLift(&b)
	}
	r.push(b)
	switch {
	case !r.dwelling:
	case !r.found:
		r.announce()
	case !r.oddHeld:
		r.lookAgain()
	}
}

// Result returns the backlash of all samples so far. It may be called at any
// time and leaves the detector as it was.
func (r *Rocking) Result() Backlash {
	c := *r
	c.quiet, c.events = true, nil
	c.window = append(make([]block, 0, windowCap), r.window...)
	if c.cur.n > 0 {
		c.flush()
	}
	return c.report()
}
