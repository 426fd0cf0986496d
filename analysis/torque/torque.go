// Package torque finds the pulls of a wrench and the running torque of bearings
// in a trace, and knows the torques that bolts bear.
package torque

import (
	"iter"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// Options says what to look for in a wrench's trace. Torques are N·m.
type Options struct {
	Target    float64 // what the bolts are to get; 0: unknown
	Threshold float64 // a pull begins above this and ends below it; 0: a fifth of the target, or of the highest pull of a whole trace
}

// Result is what a wrench's trace came to.
type Result struct {
	Peaks     []Pull
	Threshold float64 // NaN when there was nothing to take it from
	Refused   bool
	Faults    []analysis.Fault
	Notes     []analysis.Note
}

// A first pull that ends so far below the second, or below the target, was a new
// grip and no click. Below ratchetShare of the target the bolt is not done: what
// is pulled within ratchetPause seconds is the same bolt, the wrench ratcheted.
// Common practice, no source.
const (
	clickShare   = 0.9
	ratchetShare = 0.85
	ratchetPause = 2.0
)

// defaultShare is the threshold as a share of the target or the highest pull:
// below the first of the usual passes at 30 %.
const defaultShare = 0.2

const (
	peakWindow   = 0.02  // seconds of trace behind a peak's level
	fastInterval = 0.006 // seconds between readings below which a single wild one can be told
	peakCapacity = 48    // readings at most in that window
	strikeFall   = 0.10  // let off by this share of the peak, then
	strikeRise   = 0.85  // pulled back to this share of it,
	strikeGain   = 0.08  // and by this much from the lowest,
	strikeApart  = 0.15  // after this many seconds;
	strikeDeep   = 0.75  // where it fell no lower than this share
	// a longer time tells a second pull from a click pulled through
	strikeApartShallow = 0.3

	// secondDifferenceSize is the mean size of a second difference of white
	// noise over its deviation: √6·√(2/π).
	secondDifferenceSize = 1.9544
)

// Meter finds pulls in a wrench's trace as it comes, in constant memory.
type Meter struct {
	threshold float64
	noise     float64    // running mean of the size of second differences at rest
	back      [2]float64 // the last two readings
	seen      int
	top       float64               // size of the highest reading
	recent    []analysis.Sample     // the last peakWindow, spikes filtered
	ago       [peakCapacity]float64 // their times and values, for level
	sizes     [peakCapacity]float64
	spike     [5]analysis.Sample
	spikes    int // readings in spike
	interval  float64
	last      float64
	pull      pullTrack
	lost      bool    // a reading was broken since the last one
	target    float64 // size; 0: unknown
}

// New returns a finder of pulls. Without a threshold and a target the
// threshold is 10 N·m.
func New(o Options) *Meter {
	level := o.Threshold
	if !(level > 0) {
		level = defaultShare * math.Abs(o.Target)
	}
	if !(level > 0) || math.IsInf(level, 0) {
		level = 10
	}
	return &Meter{threshold: level, target: math.Abs(o.Target), last: math.Inf(-1), recent: make([]analysis.Sample, 0, peakCapacity)}
}

// Pulling reports whether a pull is going on, and its highest torque so far.
func (t *Meter) Pulling() (peak float64, on bool) { return t.pull.pull.Value, t.pull.on }

// Lost says that a reading was broken. One of many in a moment hides no peak.
func (t *Meter) Lost() { t.lost = !(t.interval > 0 && t.interval < fastInterval) }

// Add takes the next reading and returns the pull that it ends, if any.
// Readings that are not numbers or go back in time are left out.
func (t *Meter) Add(s analysis.Sample) (Pull, bool) {
	if !stat.Sensible(s.X) || !stat.Sensible(s.T) || s.T < t.last {
		return Pull{}, false
	}
	if dt := s.T - t.last; dt > 0 && stat.Finite(dt) {
		if t.interval == 0 {
			t.interval = dt
		}
		t.interval += (dt - t.interval) / 16
	}
	t.last = s.T
	if t.interval > 0 && t.interval < fastInterval {
		return t.filtered(s)
	}
	t.spikes = 0
	return t.take(s)
}

// margin is how far beyond the threshold the noise may carry a reading.
func (t *Meter) margin() float64 {
	return math.Max(0.03*t.threshold, math.Min(5*t.noise/secondDifferenceSize, 0.3*t.threshold))
}

// ended gives out a finished pull; one that only the noise carried over the
// threshold is none.
func (t *Meter) ended() (Pull, bool) {
	t.pull.on = false
	p := t.pull.pull
	if p.Value <= t.threshold+t.margin() {
		return Pull{}, false
	}
	p.DoubleStrike = t.pull.clicked > 0 && t.pull.clicked >= clickShare*math.Max(p.Value, t.target)
	return p, true
}

// ratcheted joins a pull to the one before where that fell short of the target and
// the wrench was only turned back: one bolt.
func ratcheted(before, p Pull, target float64) (Pull, bool) {
	if before.Value >= ratchetShare*math.Abs(target) || p.LeftHand != before.LeftHand || p.Start-before.End > ratchetPause {
		return p, false
	}
	p.Start, p.Gap = before.Start, p.Gap || before.Gap
	if before.Value > p.Value {
		p.Value, p.Time = before.Value, before.Time
	}
	return p, true
}

// take runs one reading through the pull in progress.
func (t *Meter) take(s analysis.Sample) (Pull, bool) {
	if t.seen++; t.seen > 2 && !t.pull.on && math.Abs(s.X) < t.threshold {
		t.noise += (math.Abs(s.X-2*t.back[1]+t.back[0]) - t.noise) / math.Min(float64(t.seen), 64)
	}
	t.back = [2]float64{t.back[1], s.X}
	t.top = math.Max(t.top, math.Abs(s.X))
	t.remember(s)
	p := &t.pull
	if !p.on {
		if math.Abs(s.X) <= t.threshold {
			t.lost = false
			return Pull{}, false
		}
		*p = pullTrack{on: true, sign: math.Copysign(1, s.X), pull: Pull{Start: s.T, LeftHand: s.X < 0}}
	}
	x := p.sign * s.X
	p.missed(t.lost, p.sign*t.level())
	t.lost = false
	if p.lastSeen > 0 && s.T-p.lastSeen > math.Max(0.5, 8*t.interval) {
		p.pull.Gap = true
	}
	if x < t.threshold-t.margin() {
		p.pull.End = s.T
		return t.ended()
	}
	p.lastSeen = s.T
	level := p.sign * t.level()
	if level > p.pull.Value {
		p.pull.Value, p.pull.Time = level, s.T
	}
	p.strike(level, s.T)
	return Pull{}, false
}

// Finish ends the trace and returns the pull still going on, if any, marked
// Unfinished.
func (t *Meter) Finish() (Pull, bool) {
	held := t.spike[:t.spikes]
	if t.spikes == len(t.spike) {
		held = t.spike[3:]
	}
	t.spikes = 0
	for _, s := range held {
		if p, ok := t.take(s); ok {
			return p, true
		}
	}
	if !t.pull.on {
		return Pull{}, false
	}
	t.pull.pull.End, t.pull.pull.Unfinished = t.pull.lastSeen, true
	return t.ended()
}

// Measure finds the pulls in a whole trace in N·m. Without a threshold
// and a target it takes a fifth of the highest torque that lasts, and goes through the
// samples twice. It keeps none of them. It refuses a trace in which nothing rises
// above the threshold.
func Measure(samples iter.Seq[analysis.Sample], o Options) Result {
	r := Result{Peaks: []Pull{}, Threshold: math.NaN(), Faults: []analysis.Fault{}, Notes: []analysis.Note{}}
	if !(o.Threshold > 0) && !(math.Abs(o.Target) > 0) {
		o.Threshold = defaultShare * highest(samples)
		if !(o.Threshold > 0) {
			return r.refuse(analysis.NoTorque.Of())
		}
	}
	t := New(o)
	r.Threshold = t.threshold
	keep := func(p Pull) {
		if p.LeftHand {
			r.Notes = append(r.Notes, analysis.NegativePull.Of(p.Time))
		}
		if p.Gap && len(r.Faults) == 0 {
			r.Faults = append(r.Faults, analysis.Gaps)
			r.Notes = append(r.Notes, analysis.PullGap.Of(p.Time))
		}
		if p.Unfinished {
			r.Notes = append(r.Notes, analysis.PullUnfinished.Of())
		}
		if n := len(r.Peaks) - 1; n >= 0 {
			whole, one := ratcheted(r.Peaks[n], p, o.Target)
			if one {
				r.Peaks[n] = whole
				return
			}
		}
		r.Peaks = append(r.Peaks, p)
	}
	for s := range samples {
		if p, ok := t.Add(s); ok {
			keep(p)
		}
	}
	if p, ok := t.Finish(); ok {
		keep(p)
	}
	if len(r.Peaks) == 0 {
		return r.refuse(analysis.NothingAbove.Of(r.Threshold))
	}
	return r
}

func (r Result) refuse(why analysis.Note) Result {
	r.Refused = true
	r.Faults = append(r.Faults, analysis.NoPull)
	r.Notes = append(r.Notes, why)
	return r
}
