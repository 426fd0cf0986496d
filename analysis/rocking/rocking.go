// Package rocking finds backlash in the trace of a wheel that is rocked by hand
// between its two stops, live or whole, and says what is wrong with the trace.
package rocking

import (
	"math"

	"crownlog/analysis"
)

// A Rocking measures backlash on a live trace, one sample at a time, in
// constant memory and amortised constant time. It remembers the newest 64
// rests. Make one with New. It is not safe for concurrent use.
//
// Samples are gathered into short blocks; blocks that stay within a few counts
// for 0.2 s become a rest; in parallel the turning points of the motion are
// noted. Which rests are stops, and what is wrong with them, is judged from
// those two short lists alone.
type Rocking struct {
	opt Options

	started  bool
	origin   float64 // first reading: all values below are relative to it
	n        int     // finite samples
	bad      int     // NaN and infinite samples
	back     int     // times the clock went back
	shift    float64 // added to T so that time never runs back
	t, x, d  float64 // last time, value and first difference
	interval float64 // s between readings with different times, smoothed
	packets  bool    // several readings had the same time, as a USB bridge delivers them
	first    float64

	grid  grid
	noise noiseMeter // second differences of all readings: a steady motion does not enter them
	step  noiseMeter // first differences of all readings of a slow gauge: most fall within rests
	hush  noiseMeter // first differences within rests
	still stillness

	cur     block
	window  []block // blocks not yet in a rest
	wmin    float64
	wmax    float64
	resting bool
	found   bool // StopFound was sent for this rest
	rest    profile
	odd     block // one block out of line, held back while the rest may go on
	oddHeld bool

	rests   history[rest]
	turns   history[turn]
	zig     zigzag
	lo, hi  float64    // of all readings
	moved   [2]float64 // lowest and highest reading since the last rest
	swing   float64    // typical distance between neighbouring rests; 0: unknown
	half    float64    // s between them
	middle  float64    // half way between them
	flip    flipWatch
	tol     float64 // widest range of a rest
	tolAge  int
	gaps    gapList
	pendGap float64 // length of the gap before the rest being gathered

	scratch judgeScratch
	rocks   int      // as last told
	told    faultSet // as last told
	level   float64  // of the last stop told
	any     bool     // a stop was told
	look    float64  // next time to judge while the value stands still
	lifted  bool
	away    int // blocks in a row far outside both stops
	events  []Event
	quiet   bool // no events: a copy that only answers Result
}

const (
	blockSpan   = 0.0083 // s: samples closer than this are taken together
	minRest     = 0.199  // s: shortest rest at a stop
	minRestN    = 3      // readings in a rest, 2 of a slow gauge
	spikeGauge  = 0.055  // s between readings up to which one block out of line is a spike
	slowGauge   = 0.085  // s between readings that make a gauge slow; off the round rates
	gapFloor    = 0.4    // s: no shorter silence is a gap
	gapReadings = 5.5    // intervals: nor one with fewer readings missing
	noisyN      = 8      // readings that show what noise they have
	windowCap   = 64     // blocks looked at before a rest is recognised
	restCap     = 64     // rests remembered, the newest
	turnCap     = 64     // turning points remembered, the newest
)

// New returns a detector that has seen no sample.
func New(o Options) *Rocking {
	r := &Rocking{opt: o, window: make([]block, 0, windowCap), events: make([]Event, 0, 8)}
	r.scratch.init()
	r.rest.reset()
	return r
}

// Reset forgets all samples and keeps the options.
func (r *Rocking) Reset() {
	*r = Rocking{opt: r.opt, window: r.window[:0], events: r.events[:0], scratch: r.scratch}
	r.rest.reset()
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

// learn takes from the reading x at t, which differs by d from the one before,
// what it says of the gauge, and returns the second difference, 0 after a gap.
func (r *Rocking) learn(t, x, d, dt float64, gap bool) (d2 float64) {
	const quick = 0.06 // s: no hand crosses half the swing in it
	if d != 0 {
		r.grid.add(d)
	}
	jump := 0.0
	if dt < quick {
		jump = 0.5 * r.swing
	}
	r.still.add(d, x, t, jump)
	if gap {
		r.gaps.add(r.t, t)
		r.still.start(x, t)
	} else {
		d2 = d - r.d
		r.noise.add(d2)
		if r.interval > slowGauge/2 {
			r.step.add(d)
		}
	}
	r.t, r.x, r.d = t, x, d
	return d2
}

// gather puts the reading into the open block or begins another. A block of a
// slow gauge is one reading and is handed on at once, unless more with the same
// time may follow.
func (r *Rocking) gather(t, x, d, d2 float64, gap bool) {
	if r.cur.n > 0 {
		if t-r.cur.from < blockSpan {
			r.cur.add(t, x, d, d2)
			if r.resting {
				r.hush.add(d)
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
		if r.resting && r.rest.used > 1 && !gap {
			r.hush.add(d)
		}
	}
}

func (r *Rocking) start(s analysis.Sample) {
	r.started, r.origin, r.n = true, s.X, 1
	r.t, r.first = s.T, s.T
	r.cur = newBlock(s.T, 0, 0, 0, false)
	r.still.start(0, s.T)
}

// tick follows the time between readings and reports a gap.
func (r *Rocking) tick(dt float64) bool {
	if r.interval == 0 {
		r.interval = dt
		return false
	}
	gap := dt > gapFloor && dt > gapReadings*r.interval
	step := math.Min(dt, 3*r.interval) - r.interval
	r.interval += step / 16
	return gap
}

// flush hands the open block on.
func (r *Rocking) flush() {
	b := r.cur
	r.cur.n = 0
	r.lo, r.hi = math.Min(r.lo, b.min), math.Max(r.hi, b.max)
	if r.tolAge++; r.tolAge >= 32 || r.n < 64 {
		r.retune()
	}
	if tp, ok := r.zig.add(&b, r.turnSize()); ok {
		r.turns.push(tp)
	}
	if r.swing > 0 {
		r.watchFlip(&b)
		r.watchLift(&b)
	}
	if r.resting {
		r.hold(b)
		return
	}
	r.seek(b)
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
