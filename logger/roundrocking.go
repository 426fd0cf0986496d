package logger

import (
	"errors"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/motion"
	"crownlog/analysis/rocking"
	"crownlog/device"
	"crownlog/device/frame"
)

// Rocks before a capture by itself.
const (
	usualRocks = 3
	moreRocks  = 5 // when the repeatability is worse than the window can live with
	staleRocks = 4 // further rocks that a fault may last before all are forgotten
)

// faultPatience is how long, in seconds, a rest that looks too short or too
// still may last before it is called a fault.
const faultPatience = 2.0

// A rockMeasure measures backlash: it waits for enough sound rocks that agree,
// captures, and goes on when the plunger is lifted.
type rockMeasure struct {
	r      *Round
	rock   *rocking.Rocking
	lift   motion.Lift
	result rocking.Backlash
	rocks  int
	needed int

	levels []float64 // of the rests before the second rock

	from   int     // visit that the last lift left
	tapped float64 // when a short lift ended; NaN: none to count

	pending      analysis.Fault // waits to be shown
	pendingSince float64
}

func newRockMeasure(r *Round) *rockMeasure {
	s := r.cfg.Sheet
	m := &rockMeasure{r: r, needed: usualRocks, rock: rocking.New(rocking.Options{
		Resolution: r.resolution, CosineDeg: s.Plunger.CosineDeg, RadiusRatio: s.radiusRatio(), MPE: s.Gauge.MPEMM,
	})}
	m.lift.Limit, m.tapped = motion.DefaultLift, math.NaN()
	if up := r.spec.Limits.Upper; up > 0 {
		m.lift.Limit = math.Max(motion.DefaultLift, 4*up)
	}
	m.reset()
	return m
}

func (m *rockMeasure) reset() {
	m.rock.Reset()
	m.result = rocking.Backlash{Value: math.NaN(), StandardUncertainty: math.NaN(), Repeatability: math.NaN(), Refused: true}
	m.rocks, m.needed, m.pending = 0, usualRocks, ""
	m.levels = m.levels[:0]
}

// strayLevel is how far, in mm and in swings, a rest lies from the two after it
// that was none of the stops.
const (
	strayLevel = 0.1
	straySwing = 0.6
)

// setUp reports whether the first rests show that the plunger was only being
// set on the tooth, which looks like half a rock: the one before the last two
// lies well away from both. Then the rocks begin with the last of them.
func (m *rockMeasure) setUp(level float64) bool {
	if m.rocks > 1 {
		return false
	}
	m.levels = append(m.levels, level)
	n := len(m.levels)
	if n < 3 {
		return false
	}
	low, high := min(m.levels[n-2], level), max(m.levels[n-2], level)
	away := max(low-m.levels[n-3], m.levels[n-3]-high)
	if away <= max(strayLevel, straySwing*(high-low)) {
		return false
	}
	m.reset()
	m.levels = append(m.levels, level)
	m.lift.Rest(level)
	return true
}

func (m *rockMeasure) add(s analysis.Sample, rd device.Reading) error {
	r := m.r
	if rd.Flags&frame.FlagPress != 0 {
		r.raise("", "This gauge sends at the press of its key: rocking needs one that sends all the time. Type the backlash instead.")
		return nil
	}
	switch m.lift.Add(s) {
	case motion.LiftStarted:
		m.lifted()
		return nil
	case motion.LiftOver:
		m.setDown()
		return nil
	}
	if m.lift.Up || m.lift.Far > 0 || r.done || r.captured() {
		return nil
	}
	for _, e := range slices.Clone(m.rock.Add(s)) {
		if e.Kind == rocking.StopFound && m.setUp(e.Level) {
			break
		}
		m.event(e)
	}
	m.showPending(s.T)
	if !m.ready() || r.cfg.ByKey {
		return nil
	}
	c, err := m.accept()
	if err != nil {
		return nil
	}
	if err := r.capture(c); err != nil {
		m.reset() // the rocks are made again once the store works
		return err
	}
	return nil
}

// lifted is the gesture for the next position. Where nothing is captured yet
// it only means that the rocks start anew.
func (m *rockMeasure) lifted() {
	r := m.r
	if !(m.lift.Started-m.tapped <= motion.TapGap) {
		m.from, m.tapped = r.current, math.NaN()
		if !r.captured() {
			m.from = max(0, r.current-1)
		}
	}
	switch {
	case r.done:
	case r.captured() && r.cfg.HandsOff:
		r.advance()
	case m.rocks > 0 && !r.captured():
		m.reset()
		r.raiseFault(analysis.OffGear)
	default:
		m.reset()
	}
	if !r.done && !r.captured() {
		r.state = StateMoving
	}
}

// setDown is the plunger back on a tooth. After two taps the round goes back
// to the position they began at, to measure it again.
func (m *rockMeasure) setDown() {
	switch {
	case !m.r.cfg.HandsOff || !m.lift.Tap():
		m.tapped = math.NaN()
	case math.IsNaN(m.tapped):
		m.tapped = m.lift.Ended
	default:
		m.tapped = math.NaN()
		m.r.moveTo(m.from)
		m.r.retrying = true
	}
	if m.r.done || m.r.captured() {
		return
	}
	m.reset()
	m.r.state = StateMeasuring
}

func (m *rockMeasure) event(e rocking.Event) {
	r := m.r
	switch e.Kind {
	case rocking.StopFound:
		r.addStop(Stop{From: e.From, To: e.To, Level: e.Level, High: e.High})
		r.emit(Event{Kind: EventStop})
		m.lift.Rest(e.Level)
	case rocking.RockCounted:
		m.result = m.rock.Result()
		m.rocks = e.Rocks
		m.needed = m.wanted()
		r.state = StateMeasuring
		if m.rocks >= usualRocks && len(m.soundness()) == 0 && r.fault != "" {
			r.clear()
		}
		r.emit(Event{Kind: EventRock, Text: r.amount(m.result.Value)})
	case rocking.FaultRaised:
		m.faultRaised(e)
	case rocking.FaultCleared:
		if m.pending == e.Fault {
			m.pending = ""
		}
		if r.fault == e.Fault {
			r.clear()
		}
		if e.Fault == analysis.PinionSlip || e.Fault == analysis.BaseCreep {
			m.reset() // rocks from while a stop wandered would stay in the mean
		}
	}
}

// faultRaised shows a fault at once, but those that a moment of hesitation
// looks like only when they last.
func (m *rockMeasure) faultRaised(e rocking.Event) {
	switch e.Fault {
	case analysis.TooFewRocks:
	case analysis.NoDwell, analysis.Frozen, analysis.Gaps, analysis.OffGear:
		m.pending, m.pendingSince = e.Fault, e.T
	case analysis.ZeroShift: // what was before has nothing to do with what comes
		m.reset()
		m.r.raiseFault(e.Fault)
	default:
		m.result = m.rock.Result()
		m.r.raiseFault(e.Fault)
	}
}

// showPending raises a fault that has lasted.
func (m *rockMeasure) showPending(t float64) {
	if m.pending != "" && t-m.pendingSince >= faultPatience {
		m.r.raiseFault(m.pending)
		m.pending = ""
	}
}

// wanted is how many rocks this position takes: more when the value is not
// certain enough to be decided by the window, or the rocks scatter by more
// than a careful set-up does.
func (m *rockMeasure) wanted() int {
	b := m.result
	if m.rocks < usualRocks || b.Refused {
		return m.needed
	}
	scatter := 0.005
	if m.r.resolution > 0.002 {
		scatter = 0.010
	}
	_, decidable := gum.Capability(m.r.spec.Limits, b.StandardUncertainty)
	if b.Repeatability > scatter || (m.r.spec.Limits.Any() && !decidable) {
		return moreRocks
	}
	return m.needed
}

// ready reports whether the position can be captured by itself. Rocks with a
// fault that lasts are forgotten, so that sound ones count once the cause is
// removed.
func (m *rockMeasure) ready() bool {
	if m.rocks < m.needed {
		return false
	}
	faults := m.soundness()
	if !m.result.Refused && !m.result.UpperBound && len(faults) == 0 {
		return true
	}
	if len(faults) > 0 {
		m.r.raiseFault(faults[0])
	}
	if m.rocks >= m.needed+staleRocks {
		m.reset()
	}
	return false
}

// soundness is what speaks against the rocks so far: the detector's faults, and
// a value that is 25.4 times off what the round has shown or the window
// expects, which is a gauge in the wrong unit.
func (m *rockMeasure) soundness() []analysis.Fault {
	faults := m.result.Faults
	expected := m.r.assessed.Round.Mean
	if m.r.assessed.Round.N == 0 {
		expected = m.r.spec.Limits.Middle()
	}
	ratio := m.result.Value / expected
	for _, flip := range []float64{25.4, 1 / 25.4} {
		if ratio > flip/1.5 && ratio < flip*1.5 && !slices.Contains(faults, analysis.UnitFlip) {
			faults = append(slices.Clip(faults), analysis.UnitFlip)
		}
	}
	return faults
}

// accept takes what has been measured, also with a fault: then the fault's
// word is the capture's quality.
func (m *rockMeasure) accept() (Capture, error) {
	b := m.rock.Result()
	m.result = b
	if b.Refused || math.IsNaN(b.Value) {
		return Capture{}, m.refusal(b)
	}
	c := Capture{
		Value: b.Value, U: b.StandardUncertainty, N: b.Rocks, Low: b.LowStop, High: b.HighStop,
		Repeatability: b.Repeatability, Quality: QualityOK, Note: strings.Join(b.Notes, "; "),
	}
	if b.UpperBound {
		c.Quality = QualityBound
	}
	if faults := m.soundness(); len(faults) > 0 {
		c.Quality = joinFaults(faults)
	}
	return m.r.cfg.Sheet.asMeasured(c), nil
}

func (m *rockMeasure) refusal(b rocking.Backlash) error {
	if len(b.Faults) > 0 {
		return errors.New("nothing to capture yet: " + strings.TrimSuffix(faultText[b.Faults[0]], "."))
	}
	return errors.New("nothing to capture yet: rock it against both stops")
}

func (m *rockMeasure) fill(v *View) {
	v.Rocks, v.Needed = m.rocks, m.needed
	v.Estimate, v.EstimateU = m.result.Value, m.result.StandardUncertainty
}

func joinFaults(faults []analysis.Fault) string {
	words := make([]string, len(faults))
	for i, f := range faults {
		words[i] = string(f)
	}
	return strings.Join(words, "+")
}
