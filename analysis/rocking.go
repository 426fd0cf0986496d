package analysis

import "math"

// A RockEventKind says what a RockEvent reports.
type RockEventKind string

// What can happen while the wheel is rocked.
const (
	StopFound    RockEventKind = "stop"    // the wheel rests against a stop
	RockCounted  RockEventKind = "rock"    // one more sound rock; Rocks is the count
	Lifted       RockEventKind = "lifted"  // the plunger went far outside both stops
	FaultRaised  RockEventKind = "fault"   // Fault began
	FaultCleared RockEventKind = "cleared" // Fault is over
)

// A RockEvent is one thing that happened on the live trace. T, From and To are
// in the seconds of the samples, Level in their unit.
type RockEvent struct {
	Kind     RockEventKind
	T        float64 // time of the sample that brought the event
	From, To float64 // of a stop: first and last sample of its rest so far
	Level    float64 // of a stop or of the lifted plunger
	High     bool    // the stop with the larger reading
	Fault    Fault   // of FaultRaised and FaultCleared
	Rocks    int     // sound rocks so far
}

const (
	blockSpan   = 0.008 // s: samples closer than this are taken together
	minRest     = 0.199 // s: shortest rest at a stop
	minRestN    = 3     // readings in a rest, 2 of a slow gauge
	slowGauge   = 0.08  // s between readings that make a gauge slow
	gapFloor    = 0.4   // s: no shorter silence is a gap
	gapReadings = 5.5   // intervals: nor one with fewer readings missing
	noisyN      = 8     // readings that show what noise they have
	windowCap   = 64    // blocks looked at before a rest is recognised
	restCap     = 64    // rests remembered, the newest
	turnCap     = 64    // turning points remembered, the newest
)

// A Rocking measures backlash on a live trace, one sample at a time, in
// constant memory and amortised constant time. It remembers the newest 64
// rests. Make one with NewRocking. It is not safe for concurrent use.
//
// Samples are gathered into short blocks; blocks that stay within a few counts
// for 0.2 s become a rest; in parallel the turning points of the motion are
// noted. Which rests are stops, and what is wrong with them, is judged from
// those two short lists alone.
type Rocking struct {
	opt RockingOptions

	started  bool
	origin   float64 // first reading: all values below are relative to it
	n        int     // finite samples
	bad      int     // NaN and infinite samples
	back     int     // times the clock went back
	shift    float64 // added to T so that time never runs back
	t, x, d  float64 // last time, value and first difference
	interval float64 // s between readings with different times, smoothed
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
	events  []RockEvent
	quiet   bool // no events: a copy that only answers Result
}

// NewRocking returns a detector that has seen no sample.
func NewRocking(o RockingOptions) *Rocking {
	r := &Rocking{opt: o, window: make([]block, 0, windowCap), events: make([]RockEvent, 0, 8)}
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
func (r *Rocking) Add(s Sample) []RockEvent {
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
	if dt < 0 {
		r.back++
		r.shift += -dt
		t, dt = r.t, 0
	}
	d := x - r.x
	r.n++
	gap := false
	if dt > 0 {
		gap = r.tick(dt)
	}
	if d != 0 {
		r.grid.add(d)
	}
	d2 := d - r.d
	jump := 0.0
	if dt < 0.06 {
		jump = 0.5 * r.swing
	}
	r.still.add(d, x, t, jump)
	if gap {
		r.gaps.add(r.t, t)
		r.still.start(x, t)
		d2 = 0
	} else {
		r.noise.add(d2)
		if r.interval > slowGauge/2 {
			r.step.add(d)
		}
	}
	r.t, r.x, r.d = t, x, d

	if r.cur.n > 0 {
		if t-r.cur.from < blockSpan {
			r.cur.add(t, x, d, d2)
			if r.resting {
				r.hush.add(d)
			}
			return r.events
		}
		r.flush()
	}
	r.cur = newBlock(t, x, d, d2, gap)
	if r.interval > blockSpan {
		r.flush()
		if r.resting && r.rest.used > 1 && !gap {
			r.hush.add(d)
		}
	}
	return r.events
}

func (r *Rocking) start(s Sample) {
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

// count is the gauge's last digit.
func (r *Rocking) count() float64 {
	if r.opt.Resolution > 0 {
		return r.opt.Resolution
	}
	return r.grid.step
}

// sigma is the deviation of the gauge's noise as far as it is known.
func (r *Rocking) sigma() float64 {
	all := r.noise.sigma(secondDifference)
	if r.interval > slowGauge/2 {
		all = math.Min(all, r.step.sigma(firstDifference))
	}
	if r.hush.total < 12 {
		return all
	}
	return math.Min(all, 1.3*r.hush.sigma(firstDifference))
}

// retune brings the tolerance up to date: two counts or six deviations of the
// noise or a part of the swing, never so wide that both stops fit in it.
func (r *Rocking) retune() {
	r.tolAge = 0
	least := 2.1 * r.count()
	noise := 6 * r.sigma()
	r.tol = math.Max(math.Max(least, noise), 0.08*r.swing)
	if r.swing > 0 {
		r.tol = math.Min(r.tol, math.Max(0.35*r.swing, 0.5*least))
	}
	if wide := r.hi - r.lo; wide > 1.5*noise { // more than noise was seen
		r.tol = math.Min(r.tol, math.Max(0.13*wide, least))
	}
}

// roomy is the widest range of a rest whose readings scatter like noise.
func (r *Rocking) roomy() float64 {
	if r.swing == 0 {
		return 0.2 * (r.hi - r.lo)
	}
	room := 0.35 * r.swing
	if far := r.moved[1] - r.moved[0]; far > 6*r.swing { // the scale has changed
		room = math.Max(room, math.Min(0.2*far, 8*r.swing))
	}
	return room
}

// restful reports whether readings n between lo and hi with the sum rough of
// squared second differences may all belong to one rest: they are within the
// tolerance, or no wider than their own noise explains: six deviations, by the
// second differences, which a motion does not enter.
func (r *Rocking) restful(lo, hi, rough float64, n int) bool {
	w := hi - lo
	if w <= r.tol {
		return true
	}
	return n >= noisyN && w <= r.roomy() && w*w <= 36*rough/6/float64(n)
}

// turnSize is how far the motion comes back before it has turned round.
func (r *Rocking) turnSize() float64 {
	size := math.Max(1.5*r.tol, 0.3*r.swing)
	if wide := r.hi - r.lo; wide > 6*r.swing {
		size = math.Max(size, math.Min(0.02*wide, 3*r.swing))
	}
	return size
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

// hold continues the rest with b, or ends it.
func (r *Rocking) hold(b block) {
	w := &r.rest.whole
	inside := r.restful(math.Min(w.min, b.min), math.Max(w.max, b.max), w.rough+b.rough, w.n+b.n)
	switch {
	case inside && !b.gap:
		r.oddHeld = false
		r.rest.add(b)
		r.announce()
		r.lookAgain()
	case !inside && !b.gap && !r.oddHeld && r.interval < 0.05:
		r.odd, r.oddHeld = b, true
	default:
		odd, held := r.odd, r.oddHeld
		r.endRest()
		if held {
			r.seek(odd)
		}
		r.seek(b)
	}
}

// tally returns the readings in the window and their roughness.
func (r *Rocking) tally() (n int, rough float64) {
	for i := range r.window {
		n += r.window[i].n
		rough += r.window[i].rough
	}
	return n, rough
}

// seek looks for a rest among the newest blocks.
func (r *Rocking) seek(b block) {
	r.moved[0], r.moved[1] = math.Min(r.moved[0], b.min), math.Max(r.moved[1], b.max)
	if b.gap {
		r.window = r.window[:0]
		r.pendGap = b.from - r.lastSeen()
	}
	if len(r.window) < 2 {
		b.rough = 0 // that of the motion or jump before
	}
	if len(r.window) == 0 {
		r.wmin, r.wmax = b.min, b.max
	} else {
		r.wmin, r.wmax = math.Min(r.wmin, b.min), math.Max(r.wmax, b.max)
	}
	if len(r.window) == cap(r.window) {
		copy(r.window, r.window[1:])
		r.window = r.window[:len(r.window)-1]
	}
	r.window = append(r.window, b)
	if r.wmax-r.wmin > r.tol {
		n, rough := r.tally()
		wait := n < noisyN && r.interval < slowGauge/2 && r.wmax-r.wmin <= r.roomy()
		if wait {
			return
		}
		if !r.restful(r.wmin, r.wmax, rough, n) {
			r.shrink()
		}
	}
	if r.isRest() {
		r.beginRest()
	}
}

// shrink drops the oldest blocks until the window is within the tolerance.
func (r *Rocking) shrink() {
	i := len(r.window) - 1
	lo, hi := r.window[i].min, r.window[i].max
	if hi-lo > r.tol {
		r.window = r.window[:0]
		return
	}
	for i > 0 {
		l, h := math.Min(lo, r.window[i-1].min), math.Max(hi, r.window[i-1].max)
		if h-l > r.tol {
			break
		}
		lo, hi = l, h
		i--
	}
	r.wmin, r.wmax = lo, hi
	n := copy(r.window, r.window[i:])
	r.window = r.window[:n]
	for k := 0; k < 2 && k < n; k++ {
		r.window[k].rough = 0
	}
}

func (r *Rocking) isRest() bool {
	k := len(r.window)
	if k == 0 {
		return false
	}
	last := r.window[k-1].to
	if last-r.window[0].from+r.interval < minRest {
		return false
	}
	n := 0
	for i := k - 1; i >= 0 && n < minRestN; i-- {
		n += r.window[i].n
	}
	return n >= minRestN || n == 2 && r.interval >= slowGauge
}

func (r *Rocking) beginRest() {
	r.rest.reset()
	for i := range r.window {
		r.rest.add(r.window[i])
		if i > 1 && r.interval > blockSpan { // one reading a block; the newest is added by Add
			r.hush.add(r.window[i-1].mean() - r.window[i-2].mean())
		}
	}
	r.window = r.window[:0]
	r.resting, r.found, r.oddHeld = true, false, false
	r.announce()
}

// endRest files the rest and learns the swing from it.
func (r *Rocking) endRest() {
	r.rests.push(r.settled())
	r.resting, r.oddHeld = false, false
	r.pendGap = 0
	level := r.rests.at(r.rests.len() - 1).level
	r.moved = [2]float64{level, level}
	r.learnSwing()
	r.retune()
}

func (r *Rocking) settled() rest {
	noise := r.sigma()
	if w := &r.rest.whole; w.n >= noisyN { // the other stop may be stiller than this one
		noise = math.Max(noise, math.Min(math.Sqrt(w.rough/6/float64(w.n)), 0.02*r.swing))
	}
	d := r.rest.settle(math.Max(math.Max(1.01*r.count(), 3.5*noise), 0.02*r.swing))
	d.gapLength = r.pendGap
	return d
}

// learnSwing takes the median distance between the newest rests that are
// further apart than a rest is wide, and with it their time and middle.
func (r *Rocking) learnSwing() {
	var size, wait, middle [8]float64
	n := 0
	for i := r.rests.len() - 1; i > 0 && n < len(size); i-- {
		a, b := r.rests.at(i), r.rests.at(i-1)
		d := math.Abs(a.level - b.level)
		if d > 1.5*r.tol || r.swing > 0 && d > 0.3*r.swing {
			size[n], middle[n] = d, (a.level+b.level)/2
			wait[n] = (a.from + a.to - b.from - b.to) / 2
			n++
		}
	}
	if n > 0 {
		r.swing, r.half, r.middle = medianInPlace(size[:n]), medianInPlace(wait[:n]), medianInPlace(middle[:n])
	}
}

func (r *Rocking) lastSeen() float64 {
	if k := r.rests.len(); k > 0 {
		return r.rests.at(k - 1).to
	}
	return r.first
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
