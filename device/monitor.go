package device

import (
	"bytes"
	"math"
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
	interval time.Duration // usual time between frames; 0: not known yet
	fixed    bool          // interval is from the profile
	patience time.Duration // no silence before this is over; 0: of no account
	press    bool          // sends at the press of a key alone: never silent
	last     time.Time     // the last frame, or the opening
	silent   bool          // silence was reported
	lone     bool          // the last frame ended a silence

	any      bool
	raw      string
	since    time.Time // raw unchanged since
	value    float64
	unit     string
	decimals int
	alike    int    // readings in a row with as many decimals
	forms    uint64 // the numbers of decimals since the opening or the last change of unit
	seq      string // of the last frame that had a number

	burst time.Duration // the longest pause of late between two Reads that brought frames
}

func newMonitor(p Profile) monitor {
	m := monitor{interval: time.Duration(p.Interval), fixed: p.Interval > 0, press: p.Sends != ""}
	if p.Mode == ModeAsked {
		m.patience = p.Timeout.or(defaultTimeout) + p.Interval.or(defaultInterval)
	}
	return m
}

// opened starts the waiting anew; the unit before is remembered, so that a
// gauge that comes back in another unit is noticed.
func (m *monitor) opened(t time.Time) {
	m.alive(t)
	m.seq = ""
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
	if f.Seq != "" {
		if f.Seq == m.seq {
			flags |= frame.FlagDuplicate
		}
		m.seq = f.Seq
	}
	if m.any && (r.Unit != m.unit || f.Unit == "" && m.jumped(r.Value, f.Decimals)) {
		flags |= frame.FlagUnitChanged
		m.forms = 0 // the jump back must stand out as the jump did
	}
	if !m.any || r.Raw != m.raw {
		m.raw, m.since = r.Raw, r.Time
	} else if !m.press && r.Time.Sub(m.since) > frozenAfter {
		flags |= frame.FlagFrozen
	}
	if f.Decimals != m.decimals {
		m.alike = 0
	}
	m.alike++
	m.forms |= form(f.Decimals)
	m.any, m.value, m.unit, m.decimals = true, r.Value, r.Unit, f.Decimals
	return flags
}

// step returns the time between the last n frames, which one Read brought
// at t. Those that came behind may have come at any time since the one before.
func (m *monitor) step(t time.Time, n int, behind bool) time.Duration {
	if n == 0 || n == 1 && !behind {
		return 0
	}
	d := max(0, t.Sub(m.last))
	if !behind {
		d = min(d, longestSpread)
	}
	d /= time.Duration(n)
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

// A gauge without a unit word that is switched between inch and millimetre shows
// the same length times 25.4, in a form of its own, while the hand moves on a
// little. Two stops of a backlash may well be 25.4 times apart, so where the form
// stays it is for the detector to tell, which knows both.
const (
	inchInMM = 25.4 // exact, by definition of the inch
	// flipRatio is how far off that a hand may come meanwhile.
	flipRatio = 0.2
	// flipHabit is how many readings must have had one form: a gauge that drops
	// trailing zeros shows others before.
	flipHabit = 8
)

// jumped reports whether v follows the last value by that factor, with a number
// of decimals that did not come before, more for inch and fewer for millimetre.
// Values near zero cannot show it.
func (m *monitor) jumped(v float64, decimals int) bool {
	ratio := m.value / v
	if decimals < m.decimals {
		ratio = v / m.value
	}
	return m.alike >= flipHabit && m.forms&form(decimals) == 0 && math.Abs(ratio/inchInMM-1) < flipRatio
}

// form is the bit of a number of decimals, -1 among them.
func form(decimals int) uint64 { return 1 << (decimals + 1) }

// A firstFrame guards the first frame after a port is opened. A gauge that
// streams is then heard from the middle of a line, and "0.123" may be the end
// of "10.123". The first line is held until the second shows whether it is
// whole, unless the line was quiet before it.
type firstFrame struct {
	begun bool // bytes have arrived
	past  bool // the first frame is whole, or over
	named bool // a line begins with its channel: 2 may be the end of 12
	held  *frame.Frame
}

// firstCut is why a first line is not believed.
const firstCut = "first line may be cut"

// hold reports whether it holds f back. A longer line after the held one makes that
// one bad, unless a sign begins it: it may have lost its head.
func (s *firstFrame) hold(f *frame.Frame) bool {
	switch {
	case s.past:
		return false
	case s.held == nil && f.Bad == "" && !s.named:
		own := *f
		own.Raw = bytes.Clone(f.Raw)
		s.held = &own
		return true
	case s.held == nil && f.Bad == "":
		f.Bad = firstCut
	case s.held != nil && len(s.held.Raw) < len(f.Raw) && s.held.Raw[0] != '+' && s.held.Raw[0] != '-':
		s.held.Bad = firstCut
	}
	s.past = true
	return false
}

// release queues the frame that is held back, if there is one.
func (v *voice) release() {
	if s := &v.first; s.held != nil {
		v.queue(s.held)
		s.held, s.past = nil, true
	}
}
