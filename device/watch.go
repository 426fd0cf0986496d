package device

import (
	"math"
	"time"

	"crownlog/device/frame"
)

const (
	// frozenAfter is longer than a hand keeps a gauge on one digit.
	frozenAfter = 20 * time.Second
	// leastSilence keeps a busy computer from being taken for a silent gauge.
	leastSilence = 250 * time.Millisecond
	// firstSilence is allowed before the usual interval is known.
	firstSilence = 3 * time.Second
	inchInMM     = 25.4
)

// A watch sees in the stream what no single frame shows: a changed unit, a
// frozen display, a repeated frame, silence.
type watch struct {
	resolution float64
	interval   time.Duration // usual time between frames; 0: not known yet
	fixed      bool          // interval is from the profile
	patience   time.Duration // no silence before this is over; 0: of no account
	press      bool          // sends at the press of a key alone: never silent
	last       time.Time     // the last frame, or the opening
	silent     bool          // silence was reported
	lone       bool          // the last frame ended a silence

	any      bool
	raw      string
	since    time.Time // raw unchanged since
	value    float64
	unit     string
	decimals int
	steps    [8]float64 // sizes of the last steps between readings
	count    int
	seq      int64
	numbered bool
}

func newWatch(p Profile) watch {
	w := watch{resolution: p.Resolution, interval: time.Duration(p.Interval), fixed: p.Interval > 0, press: p.Sends == SendsOnPress}
	if p.Mode == ModeAsked {
		w.patience = p.Timeout.or(askTimeout) + p.Interval.or(askEvery)
	}
	return w
}

// opened starts the waiting anew; the unit before is remembered, so that a
// gauge that comes back in another unit is noticed.
func (w *watch) opened(t time.Time) {
	w.last, w.silent = t, false
	w.numbered = false
}

// heard notes that the gauge is alive.
func (w *watch) heard(t time.Time) { w.last, w.silent = t, false }

// silence returns how long nothing was heard, once for each silence that
// lasts more than five usual intervals, else 0.
func (w *watch) silence(t time.Time) time.Duration {
	limit := firstSilence
	if w.interval > 0 {
		limit = max(5*w.interval, leastSilence)
	}
	d := t.Sub(w.last)
	if w.silent || w.press || d <= max(limit, w.patience) {
		return 0
	}
	w.silent = true
	return d
}

// mark returns the flags of a sound reading and remembers it.
func (w *watch) mark(f *frame.Frame, r Reading) frame.Flags {
	flags := f.Flags
	if f.Numbered {
		if w.numbered && f.Seq == w.seq {
			flags |= frame.FlagDuplicate
		}
		w.numbered, w.seq = true, f.Seq
	}
	if !w.any {
		w.any, w.raw, w.since = true, r.Raw, r.Time
		w.value, w.unit, w.decimals = r.Value, r.Unit, f.Decimals
		return flags
	}
	if r.Unit != w.unit || f.Unit == "" && w.jumped(r.Value, f.Decimals) {
		flags |= frame.FlagUnitChanged
	}
	if r.Raw != w.raw {
		w.raw, w.since = r.Raw, r.Time
	} else if !w.press && r.Time.Sub(w.since) > frozenAfter {
		flags |= frame.FlagFrozen
	}
	if flags&frame.FlagUnitChanged == 0 { // the jump back must stand out as the jump did
		w.steps[w.count%len(w.steps)] = math.Abs(r.Value - w.value)
		w.count++
	}
	w.value, w.unit, w.decimals = r.Value, r.Unit, f.Decimals
	return flags
}

// step returns the time between the last n frames, which one Read brought
// at t.
func (w *watch) step(t time.Time, n int) time.Duration {
	if n < 2 {
		return 0
	}
	d := max(0, min(t.Sub(w.last), longestSpread)) / time.Duration(n)
	if w.interval > 0 {
		d = min(d, w.interval)
	}
	return d
}

// pace learns the usual interval from n frames that one Read brought at t. A
// frame that ends a silence shows none, unless the one before did so too: then
// this is how the gauge sends.
func (w *watch) pace(t time.Time, n int) {
	d := t.Sub(w.last) / time.Duration(n)
	ended := w.silent
	if w.any && !w.fixed && d > 0 && (!ended || w.lone) {
		if w.interval == 0 || ended {
			w.interval = d
		}
		w.interval += (d - w.interval) / 8
	}
	w.lone = ended
	w.heard(t)
}

// jumped reports whether v follows the last value by the factor between inch
// and millimetre, in a step far larger than the steps before it. Values near
// zero cannot show it.
func (w *watch) jumped(v float64, decimals int) bool {
	if w.count < len(w.steps) || v == 0 || w.value == 0 {
		return false
	}
	ratio := v / w.value
	if ratio < 1 {
		ratio = 1 / ratio
	}
	largest := 0.0
	for _, s := range w.steps {
		largest = max(largest, s)
	}
	step := math.Abs(v - w.value)
	off := math.Abs(ratio/inchInMM - 1)
	if decimals != w.decimals {
		return off < 0.2 && step > 4*largest
	}
	return off < 0.02 && step > 20*max(largest, w.resolution)
}
