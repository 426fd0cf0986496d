package feature

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/device/frame"
	"crownlog/logger/record"
)

const (
	restSeconds  = 1.2 // a level is taken after so long without movement,
	firstRest    = 3.0 // the first one, if no key can be pressed, after so long
	unseenAfter  = 3.0 // s without movement after which it is asked for a key
	gaugeTouched = 0.5 // mm from the place stored last: a hand at the gauge, no turn
)

// firstLevel is how far, in mm, the first level may be from zero: more than a plunger
// shows that is pressed in by about 1 mm.
const firstLevel = 1.8

// doubtLevel counts a typed level by its distance from the others; the first by what
// a dial shows.
func doubtLevel(s Setup, at At, v float64) string {
	upper, away := s.Spec.Limits.Upper, math.Abs(v-at.Mean)
	switch {
	case at.N == 0 && math.Abs(v) > firstLevel:
		return "more than a dial shows that is pressed in by 1 mm (0.04 in)"
	case at.N > 0 && upper > 0 && away > absurdValue*upper:
		return fmt.Sprintf("%s from the other places, where %s is allowed in all", s.plainAmount(away), s.plainAmount(upper))
	}
	return ""
}

// levels take the indicator's level at each position of a run-out:
// by itself once the wheel rests after having been turned, or by command. The
// first is taken by command, for a gauge that is being set moves and rests too;
// where nobody can give one, it is taken after a long rest. What comes after a
// capture belongs to the place announced next. A wheel turned to a place of the
// same level is not seen to have moved, and needs the command.
type levels struct {
	Setup
	recent  []analysis.Sample // since the last movement, of the last restSeconds or so
	placed  float64           // level of the place stored last; NaN: none since the round was opened
	since   float64           // time from which a movement is waited for; NaN: from the next reading
	began   float64           // when the movement under way, or the last one, began
	peak    float64           // how far it went from the place stored last, mm
	jitter  float64           // mean step from reading to reading, mm
	moved   bool              // the wheel has been turned since the last capture
	at      int               // visit stored last; -1: none since the round was opened
	fresh   bool              // just stored: a small shift is the hand that lets go
	touched bool              // a hand was at the gauge, and it has not come to rest since
	press   bool              // the last reading came at the press of the gauge's key
}

func (m *levels) reset() {
	m.recent, m.since = m.recent[:0], math.NaN()
	m.moved, m.fresh, m.touched, m.press = false, false, false, false
}

func (m *levels) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Reading:
		if !at.Done {
			return m.add(at, in)
		}
	case Accept:
		return m.take(at, m.stored(at))
	case Reset, NotStored:
		m.reset()
	case Enter:
		m.reset()
		m.at = -1
	case Stored:
		m.reset()
		m.placed, m.at, m.fresh = in.Value, at.Index, true
	}
	return nil
}

// stored reports whether the level here was stored, and the wheel is to be
// turned on.
func (m *levels) stored(at At) bool { return m.at == at.Index && at.Captured }

func (m *levels) add(at At, in Input) []Effect {
	s := in.Sample
	if m.press = in.Flags&frame.FlagPress != 0; m.press {
		return m.pressed(at, s)
	}
	if math.IsNaN(m.since) {
		m.since = s.T
	}
	moving := m.follow(s) || at.Moving
	m.recent = append(m.recent, s)
	for len(m.recent) > 3 && m.recent[1].T <= s.T-m.wanted() {
		m.recent = m.recent[1:]
	}
	if m.fresh && s.T-m.since >= 0.5 { // s: until then letting go may shift the level
		m.placed, m.fresh = m.level(), false
	}
	if !m.HandsOff || !m.rested() {
		if moving && !at.Moving {
			return one(Moving{})
		}
		return nil
	}
	var effects []Effect
	if moving {
		effects = one(Measuring{})
	}
	if m.touched { // the gauge may have another zero now
		m.touched, m.since, m.placed = false, s.T, m.level()
		return effects
	}
	stored := m.stored(at)
	if at.Captured && !stored || !m.turned(s.T, stored) {
		return effects
	}
	return append(effects, m.take(at, stored)...)
}

// follow notices a movement beyond what a rest has: of the wheel, or of a hand
// at the gauge, which is no turn.
func (m *levels) follow(s analysis.Sample) (moving bool) {
	rest, last := m.placed, s
	if n := len(m.recent); n > 0 {
		rest, last = m.level(), m.recent[n-1]
	} else if math.IsNaN(rest) {
		return false
	}
	if math.Abs(s.X-m.placed) > m.reach() {
		m.touched, m.moved, m.fresh = true, false, false
	}
	step := math.Abs(s.X - last.X)
	m.jitter += (math.Min(step, m.leastSlack()) - m.jitter) / 32
	if math.Abs(s.X-rest) <= m.slack() {
		return false
	}
	m.recent = m.recent[:0]
	if m.touched || m.late(s.T) {
		return true
	}
	if !m.moved {
		m.began, m.peak = last.T, 0
	}
	m.peak = math.Max(m.peak, math.Abs(s.X-m.placed))
	m.moved, m.fresh = true, false
	return true
}

// late reports whether a movement comes so long after the last place that the
// wheel may have been turned unseen before: a coarse dial shows the same at many
// neighbouring places. Then only the key tells the places apart.
func (m *levels) late(now float64) bool {
	const coarse = 0.005 // mm: a finer gauge shows the slope of any face within a few degrees
	return m.Resolution >= coarse && !m.NoKeys && !m.moved && !math.IsNaN(m.placed) && now-m.since > unseenAfter
}

// reach is how far the level may be from the place stored last.
func (m *levels) reach() float64 {
	if up := absurdValue * m.Spec.Limits.Upper; up > gaugeTouched { // not where it is NaN
		return up
	}
	return gaugeTouched
}

// turned reports whether the wheel rests at another place than the one stored
// last. A shift of a single count is believed while a turn is waited for; later
// it may be a base that creeps.
func (m *levels) turned(now float64, stored bool) bool {
	if math.IsNaN(m.placed) {
		return m.moved && m.NoKeys
	}
	other := math.Abs(m.level()-m.placed) >= m.count()
	if m.moved {
		if other || m.peak > 3*m.slack() && m.recent[0].T-m.began >= 0.3 { // s: less is a bump
			return true
		}
		m.moved, m.since = false, now
		return false
	}
	return stored && !m.fresh && other && now-m.since <= unseenAfter+restSeconds
}

// pressed takes the level that a gauge sent at the press of its key.
func (m *levels) pressed(at At, s analysis.Sample) []Effect {
	m.recent = append(m.recent[:0], s)
	switch {
	case !m.HandsOff:
		return nil
	case at.Captured && at.NextIndex < 0:
		return one(Advance{})
	}
	return m.take(at, at.Captured)
}

// take is the level as a capture: here, or with on at the next place.
func (m *levels) take(at At, on bool) []Effect {
	c, err := m.measured(at, on)
	switch {
	case err != nil:
		return one(warnOf(err))
	case on:
		return []Effect{Advance{}, Captured(c)}
	}
	return one(Captured(c))
}

// slack is how far a reading may lie from the level of a rest: a count to
// either side, or four times the noise of a fine gauge, which steps by 1.13
// times its standard deviation from one reading to the next.
func (m *levels) slack() float64 { return math.Max(m.leastSlack(), 4/1.13*m.jitter) }

func (m *levels) leastSlack() float64 { return math.Max(1.5*m.Resolution, 0.003) }

// count is how far two rests lie apart that are not the same: a count, of
// which the mean over a rest shows three quarters at least, and 0.002 mm of any
// gauge, however fine.
func (m *levels) count() float64 { return math.Max(0.75*m.Resolution, 0.002) }

// wanted is how long a rest takes.
func (m *levels) wanted() float64 {
	if math.IsNaN(m.placed) {
		return firstRest
	}
	return restSeconds
}

// rested reports whether the level has stayed for long enough and does not
// drift: a coarse gauge shows a slow turn as one count after the other.
func (m *levels) rested() bool {
	n := len(m.recent)
	if n < 3 || m.recent[n-1].T-m.recent[0].T < m.wanted() {
		return false
	}
	third := max(1, n/3)
	return math.Abs(meanX(m.recent[:third])-meanX(m.recent[n-third:])) < 0.55*m.count()
}

// level is the mean of the rest so far.
func (m *levels) level() float64 { return meanX(m.recent) }

func meanX(samples []analysis.Sample) float64 {
	var sum float64
	for _, s := range samples {
		sum += s.X
	}
	return sum / float64(len(samples))
}

// measured is the level since the last movement; stored: the one here is on
// record.
func (m *levels) measured(at At, stored bool) (record.Capture, error) {
	n := len(m.recent)
	const keyedLevel = 0.4 // s of readings that a command needs
	rested := m.press && n == 1 || n > 1 && m.recent[n-1].T-m.recent[0].T >= keyedLevel
	switch {
	case n == 0 && !stored:
		return record.Capture{}, errors.New("no reading yet")
	case !rested && stored:
		return record.Capture{}, fmt.Errorf("%s is stored: turn on to the next place first", AtAngle(at.Position))
	case !rested:
		return record.Capture{}, errors.New("let it rest for a moment")
	}
	level := m.level()
	c := newCapture(level, m.uncertainty(level), n, record.QualityOK, "")
	values := analysis.Values(m.recent)
	c.Low, c.High = slices.Min(values), slices.Max(values)
	return c, nil
}

func (m *levels) Progress() Progress {
	if n := len(m.recent); n > 0 {
		return plainProgress(m.recent[n-1].X, true)
	}
	return plainProgress(0, false)
}

// Ask says where to turn and what to do there.
func (m *levels) Ask(at At) string {
	next, stored := at.Position, m.stored(at)
	if stored && at.NextIndex >= 0 {
		next = at.Next.Position
	}
	place := AtAngle(next)
	unseen := !m.moved && at.T-m.since > unseenAfter // a movement has been waited for in vain
	switch {
	case !m.HandsOff && stored:
		return fmt.Sprintf("Stored. Turn on to %s and press space.", place)
	case !m.HandsOff:
		return fmt.Sprintf("Turn to %s and press space.", place)
	case unseen && at.N > 0:
		return fmt.Sprintf("No turn seen. Once the wheel rests at %s, press space here.", place)
	case stored:
		return fmt.Sprintf("Stored. Turn on to %s and let it rest.", place)
	case at.Captured:
		return fmt.Sprintf("%s is stored. Press x to measure it again, n to go on.", Capitalise(place))
	case math.IsNaN(m.placed) && m.NoKeys:
		return fmt.Sprintf("Turn to %s and let it rest for %.0f seconds.", place, firstRest)
	case math.IsNaN(m.placed):
		return fmt.Sprintf("Set the gauge, turn to %s and press space there. The others are taken by themselves.", place)
	}
	return fmt.Sprintf("Turn to %s and let it rest.", place)
}
