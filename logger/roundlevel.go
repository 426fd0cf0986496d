package logger

import (
	"errors"
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/device"
	"crownlog/device/frame"
)

const (
	restSeconds  = 1.2   // a level is taken after so long without movement,
	firstRest    = 3.0   // the first one, if no key can be pressed, after so long
	settleAfter  = 0.5   // s after a capture in which letting go may shift the level
	keyedLevel   = 0.4   // s of readings that a command needs
	unseenAfter  = 3.0   // s without movement after which it is asked for a key
	gaugeTouched = 0.5   // mm from the place stored last: a hand at the gauge, no turn
	bumpSeconds  = 0.3   // of movement that ends where it began: a bump
	leastCount   = 0.002 // mm that two levels differ by at least, however fine the gauge
)

// A levelMeasure takes the indicator's level at each position of a run-out:
// by itself once the wheel rests after having been turned, or by command. The
// first is taken by command, for a gauge that is being set moves and rests too;
// where nobody can give one, it is taken after a long rest. What comes after a
// capture belongs to the place announced next. A wheel turned to a place of the
// same level is not seen to have moved, and needs the command.
type levelMeasure struct {
	r       *Round
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

func newLevelMeasure(r *Round) *levelMeasure {
	m := &levelMeasure{r: r, placed: math.NaN(), at: -1}
	m.reset()
	return m
}

func (m *levelMeasure) reset() {
	m.recent, m.since = m.recent[:0], math.NaN()
	m.moved, m.fresh, m.touched, m.press = false, false, false, false
}

// taken is told what was stored at the current visit.
func (m *levelMeasure) taken(c Capture) {
	m.reset()
	m.placed, m.at, m.fresh = c.Value, m.r.current, true
}

// stored reports whether the level here was stored, and the wheel is to be
// turned on.
func (m *levelMeasure) stored() bool { return m.at == m.r.current && m.r.captured() }

func (m *levelMeasure) add(s analysis.Sample, rd device.Reading) error {
	r := m.r
	if r.done {
		return nil
	}
	if m.press = rd.Flags&frame.FlagPress != 0; m.press {
		return m.pressed(s)
	}
	if math.IsNaN(m.since) {
		m.since = s.T
	}
	m.follow(s)
	m.recent = append(m.recent, s)
	for len(m.recent) > 3 && m.recent[1].T <= s.T-m.wanted() {
		m.recent = m.recent[1:]
	}
	if m.fresh && s.T-m.since >= settleAfter {
		m.placed, m.fresh = m.level(), false
	}
	if !r.cfg.HandsOff || !m.rested() {
		return nil
	}
	if r.state == StateMoving {
		r.state = StateMeasuring
	}
	if m.touched { // the gauge may have another zero now
		m.touched, m.since, m.placed = false, s.T, m.level()
		return nil
	}
	if r.captured() && !m.stored() || !m.turned(s.T) {
		return nil
	}
	if m.stored() {
		rest := m.recent
		r.advance()
		m.recent = rest
	}
	c, err := m.accept()
	if err != nil {
		return nil
	}
	return r.capture(c)
}

// follow notices a movement beyond what a rest has: of the wheel, or of a hand
// at the gauge, which is no turn.
func (m *levelMeasure) follow(s analysis.Sample) {
	r, rest, last := m.r, m.placed, s
	if n := len(m.recent); n > 0 {
		rest, last = m.level(), m.recent[n-1]
	} else if math.IsNaN(rest) {
		return
	}
	if math.Abs(s.X-m.placed) > m.reach() {
		m.touched, m.moved, m.fresh = true, false, false
	}
	step := math.Abs(s.X - last.X)
	m.jitter += (math.Min(step, m.leastSlack()) - m.jitter) / 32
	if math.Abs(s.X-rest) <= m.slack() {
		return
	}
	if m.touched || m.late(s.T) {
		m.recent, r.state = m.recent[:0], StateMoving
		return
	}
	if !m.moved {
		m.began, m.peak = last.T, 0
	}
	m.peak = math.Max(m.peak, math.Abs(s.X-m.placed))
	m.recent, m.moved, m.fresh = m.recent[:0], true, false
	r.state = StateMoving
}

// late reports whether a movement comes so long after the last place that the
// wheel may have been turned unseen before: a coarse dial shows the same at many
// neighbouring places. Then only the key tells the places apart.
func (m *levelMeasure) late(now float64) bool {
	const coarse = 0.005 // mm
	return m.r.resolution >= coarse && !m.r.cfg.NoKeys && !m.moved && !math.IsNaN(m.placed) && now-m.since > unseenAfter
}

// reach is how far the level may be from the place stored last.
func (m *levelMeasure) reach() float64 {
	if up := absurdValue * m.r.spec.Limits.Upper; up > gaugeTouched {
		return up
	}
	return gaugeTouched
}

// turned reports whether the wheel rests at another place than the one stored
// last. A shift of a single count is believed while a turn is waited for; later
// it may be a base that creeps.
func (m *levelMeasure) turned(now float64) bool {
	if math.IsNaN(m.placed) {
		return m.moved && m.r.cfg.NoKeys
	}
	other := math.Abs(m.level()-m.placed) >= m.count()
	if m.moved {
		if other || m.peak > 3*m.slack() && m.recent[0].T-m.began >= bumpSeconds {
			return true
		}
		m.moved, m.since = false, now
		return false
	}
	return m.stored() && !m.fresh && other && now-m.since <= unseenAfter+restSeconds
}

// unseen reports whether a movement has been waited for in vain.
func (m *levelMeasure) unseen() bool {
	return !m.moved && m.r.trace.newest()-m.since > unseenAfter
}

// pressed takes the level that a gauge sent at the press of its key.
func (m *levelMeasure) pressed(s analysis.Sample) error {
	r := m.r
	if r.captured() && r.cfg.HandsOff {
		r.advance()
	}
	m.recent, m.press = append(m.recent[:0], s), true
	if r.captured() || !r.cfg.HandsOff {
		return nil
	}
	c, err := m.accept()
	if err != nil {
		return nil
	}
	return r.capture(c)
}

// slack is how far a reading may lie from the level of a rest: a count to
// either side, or four times the noise of a fine gauge, which steps by 1.13
// times its standard deviation from one reading to the next.
func (m *levelMeasure) slack() float64 {
	return math.Max(m.leastSlack(), 4/1.13*m.jitter)
}

func (m *levelMeasure) leastSlack() float64 { return math.Max(1.5*m.r.resolution, 0.003) }

// count is how far two rests lie apart that are not the same: a count, of
// which the mean over a rest shows three quarters at least.
func (m *levelMeasure) count() float64 { return math.Max(0.75*m.r.resolution, leastCount) }

// wanted is how long a rest takes.
func (m *levelMeasure) wanted() float64 {
	if math.IsNaN(m.placed) {
		return firstRest
	}
	return restSeconds
}

// rested reports whether the level has stayed for long enough and does not
// drift: a coarse gauge shows a slow turn as one count after the other.
func (m *levelMeasure) rested() bool {
	n := len(m.recent)
	if n < 3 || m.recent[n-1].T-m.recent[0].T < m.wanted() {
		return false
	}
	third := max(1, n/3)
	return math.Abs(meanX(m.recent[:third])-meanX(m.recent[n-third:])) < 0.55*m.count()
}

// level is the mean of the rest so far.
func (m *levelMeasure) level() float64 { return meanX(m.recent) }

func meanX(samples []analysis.Sample) float64 {
	var sum float64
	for _, s := range samples {
		sum += s.X
	}
	return sum / float64(len(samples))
}

// next is the visit that a capture made now belongs to.
func (m *levelMeasure) next() int {
	if k := m.r.nextOpen(); m.stored() && k >= 0 {
		return k
	}
	return m.r.current
}

func (m *levelMeasure) accept() (Capture, error) {
	n := len(m.recent)
	switch {
	case n == 0 && !m.stored():
		return Capture{}, errors.New("no reading yet")
	case m.press && n == 1:
	case n < 2 || m.recent[n-1].T-m.recent[0].T < keyedLevel:
		if m.stored() {
			return Capture{}, fmt.Errorf("%s is stored: turn on to the next place first", atAngle(m.r.positions[m.r.visits[m.r.current].position]))
		}
		return Capture{}, errors.New("let it rest for a moment")
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range m.recent {
		low, high = math.Min(low, s.X), math.Max(high, s.X)
	}
	return Capture{
		Value: m.level(), U: m.r.keyedUncertainty(m.level()), N: n, Low: low, High: high,
		Repeatability: math.NaN(), RadiusMM: math.NaN(), Quality: QualityOK,
	}, nil
}

func (m *levelMeasure) fill(v *View) {
	v.Needed = 1
	if n := len(m.recent); n > 0 {
		v.Estimate = m.recent[n-1].X
	}
}

// action says where to turn and what to do there.
func (m *levelMeasure) action() string {
	r := m.r
	place := atAngle(r.positions[r.visits[m.next()].position])
	switch {
	case !r.cfg.HandsOff && m.stored():
		return fmt.Sprintf("Stored. Turn on to %s and capture.", place)
	case !r.cfg.HandsOff:
		return fmt.Sprintf("Turn to %s and capture.", place)
	case m.unseen() && r.stored() > 0:
		return fmt.Sprintf("No turn seen. Once the wheel rests at %s, press space here.", place)
	case m.stored():
		return fmt.Sprintf("Stored. Turn on to %s and let it rest.", place)
	case r.captured():
		return fmt.Sprintf("%s is stored. Press x to measure it again, n to go on.", capitalise(place))
	case math.IsNaN(m.placed) && r.cfg.NoKeys:
		return fmt.Sprintf("Turn to %s and let it rest for %.0f seconds.", place, firstRest)
	case math.IsNaN(m.placed):
		return fmt.Sprintf("Set the gauge, turn to %s and press space there. The others are taken by themselves.", place)
	}
	return fmt.Sprintf("Turn to %s and let it rest.", place)
}
