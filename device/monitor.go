package device

import (
	"math"
	"slices"
	"time"

	"crownlog/device/frame"
)

const (
	// frozenAfter is longer than a hand keeps a gauge on one digit: a dial of
	// 1 µm shows the breath of the fitter, one of 10 µm stands still for some
	// seconds between two rocks.
	frozenAfter = 20 * time.Second
	// silentIntervals is how many readings may fail to come before the gauge
	// counts as silent: one is lost now and then, five in a row are not.
	silentIntervals = 5
	// leastSilence keeps a busy computer from being taken for a silent gauge.
	leastSilence = 250 * time.Millisecond
	// firstSilence is allowed before the usual interval is known. Slow gauges
	// send once a second, and some begin with a pause.
	firstSilence = 3 * time.Second
)

// A monitor sees in the stream what no single frame shows: a changed unit, a
// frozen display, a repeated frame, silence.
type monitor struct {
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

	burst time.Duration // the longest pause of late between two Reads that brought frames
}

func newMonitor(p Profile) monitor {
	m := monitor{resolution: p.Resolution, interval: time.Duration(p.Interval), fixed: p.Interval > 0, press: p.Sends != ""}
	if p.Mode == ModeAsked {
		m.patience = p.Timeout.or(defaultTimeout) + p.Interval.or(defaultInterval)
	}
	return m
}

// opened starts the waiting anew; the unit before is remembered, so that a
// gauge that comes back in another unit is noticed.
func (m *monitor) opened(t time.Time) {
	m.alive(t)
	m.numbered = false
}

// alive notes that the gauge is.
func (m *monitor) alive(t time.Time) { m.last, m.silent = t, false }

// silence returns how long nothing was heard, once for each silence that
// lasts more than silentIntervals, else 0.
func (m *monitor) silence(t time.Time) time.Duration {
	limit := firstSilence
	if m.interval > 0 {
		limit = max(silentIntervals*m.interval, leastSilence, 2*m.burst)
	}
	d := t.Sub(m.last)
	if m.silent || m.press || d <= max(limit, m.patience) {
		return 0
	}
	m.silent = true
	return d
}

// mark returns the flags of a sound reading and remembers it.
func (m *monitor) mark(f *frame.Frame, r Reading) frame.Flags {
	flags := f.Flags
	if f.Numbered {
		if m.numbered && f.Seq == m.seq {
			flags |= frame.FlagDuplicate
		}
		m.numbered, m.seq = true, f.Seq
	}
	if m.any && (r.Unit != m.unit || f.Unit == "" && m.jumped(r.Value, f.Decimals)) {
		flags |= frame.FlagUnitChanged
	}
	if !m.any || r.Raw != m.raw {
		m.raw, m.since = r.Raw, r.Time
	} else if !m.press && r.Time.Sub(m.since) > frozenAfter {
		flags |= frame.FlagFrozen
	}
	if m.any && flags&frame.FlagUnitChanged == 0 { // the jump back must stand out as the jump did
		m.steps[m.count%len(m.steps)] = math.Abs(r.Value - m.value)
		m.count++
	}
	m.any, m.value, m.unit, m.decimals = true, r.Value, r.Unit, f.Decimals
	return flags
}

// step returns the time between the last n frames, which one Read brought
// at t.
func (m *monitor) step(t time.Time, n int) time.Duration {
	if n < 2 {
		return 0
	}
	d := max(0, min(t.Sub(m.last), longestSpread)) / time.Duration(n)
	if m.interval > 0 {
		d = min(d, m.interval)
	}
	return d
}

// pace learns the usual interval from n frames that one Read brought at t. A
// frame that ends a silence shows none, unless the one before did so too: then
// this is how the gauge sends. An eighth of each new interval is taken over,
// so that the scatter of a scheduler evens out and a changed rate is learned
// within some twenty readings.
func (m *monitor) pace(t time.Time, n int) {
	d := t.Sub(m.last) / time.Duration(n)
	ended := m.silent
	if m.any && !m.fixed && d > 0 && (!ended || m.lone) {
		if m.interval == 0 || ended {
			m.interval = d
		}
		m.interval += (d - m.interval) / 8
		// A bridge without a cable hands on what it has two or three times a second.
		m.burst = max(t.Sub(m.last), m.burst-m.burst/8)
	}
	m.lone = ended
	m.alive(t)
}

// What makes a step the change between inch and millimetre. A gauge without a
// unit word that is switched over shows the same length times 25.4, rounded to
// its new decimals, while the hand moves on a little.
const (
	inchInMM = 25.4 // exact, by definition of the inch
	// With other decimals than before the display itself says that the unit
	// changed, so the ratio may be as far off as a hand moves meanwhile.
	looseRatio, looseStep = 0.2, 4
	// Without, only a ratio that fits and a step far beyond the others tell a
	// switch from a quick hand.
	tightRatio, tightStep = 0.02, 20
)

// jumped reports whether v follows the last value by the factor between inch
// and millimetre, in a step far larger than the steps before it. Values near
// zero cannot show it.
func (m *monitor) jumped(v float64, decimals int) bool {
	if m.count < len(m.steps) || v == 0 || m.value == 0 {
		return false
	}
	ratio := max(v/m.value, m.value/v)
	largest := slices.Max(m.steps[:])
	step := math.Abs(v - m.value)
	off := math.Abs(ratio/inchInMM - 1)
	if decimals != m.decimals {
		return off < looseRatio && step > looseStep*largest
	}
	return off < tightRatio && step > tightStep*max(largest, m.resolution)
}
