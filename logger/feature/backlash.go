package feature

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/motion"
	"crownlog/analysis/rocking"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
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

// backlash is rocked between the stops at each position.
func backlash() Feature {
	return Feature{
		positions:   wheelPositions,
		gauged:      func(s Setup) Measurer { return newRocks(s) },
		Check:       notNegative,
		uncertainty: func(s Setup, _ float64) float64 { return s.countUncertainty(2) }, // a difference of two readings
		store:       readOffDial,
	}
}

// capsSnug is the backlash at the first place once more, with the caps slackened to
// snug: what torquing them does is the difference.
func capsSnug() Feature {
	f := backlash()
	f.positions = func(s sheet.Sheet, name string) []record.Position { return wheelPositions(s, name)[:1] }
	return f
}

// unseenTyped is what the push may add at both stops, mm, to a figure read off a dial:
// of how the reading arrived nothing is known, as with a gauge of ten readings a second,
// which takes twice the least.
const unseenTyped = 2 * 2 * rocking.UnseenDoubt

// readOffDial corrects a backlash read off the dial as one that is measured, and
// counts the same doubts of hand and plunger: typing the figure takes none away.
func readOffDial(s Setup, _ At, c record.Capture) []Effect {
	k := s.Sheet.ReadingFactor()
	c.Value *= k
	doubts := append(rocking.PlungerDoubts(c.Value, s.Sheet.Plunger.CosineDeg, s.Sheet.RadiusRatio()),
		rocking.PushDoubt(cmp.Or(s.Sheet.Plunger.PushMM, unseenTyped), k), gum.Component{Name: "gauge", U: c.U, Sensitivity: k, DoF: math.Inf(1)})
	c.U = math.NaN()
	if budget, err := gum.Combine(doubts); err == nil { // else nothing is known of the gauge
		c.U, c.OwnU, c.HandU = budget.Stated(), k*math.Sqrt2*gum.Resolution(s.Resolution), doubts[len(doubts)-2].Contribution()
	}
	return []Effect{Captured(s.Sheet.AsMeasured(c)), Advance{}}
}

// rocks measure backlash: they wait for enough sound rocks that agree, are
// captured, and go on when the plunger is lifted.
type rocks struct {
	Setup
	rock   *rocking.Rocking
	lift   motion.Lift
	result rocking.Backlash
	rocks  int
	needed int
	alone  bool // the capture under way was made by itself

	levels []float64 // of the rests before the second rock

	from   int     // visit that the first of two taps left, its value just stored; -1: it left none
	tapped float64 // when a short lift ended; NaN: none to count

	pending      analysis.Fault // waits to be shown
	pendingSince float64
}

func newRocks(s Setup) *rocks {
	m := &rocks{Setup: s, rock: rocking.New(rocking.Options{
		Resolution: s.Resolution, CosineDeg: s.Sheet.Plunger.CosineDeg, RadiusRatio: s.Sheet.RadiusRatio(), MPE: s.Sheet.Gauge.MPEMM, Push: s.Sheet.Plunger.PushMM,
	})}
	m.lift.Limit, m.tapped, m.from = motion.DefaultLift, math.NaN(), -1
	if up := s.Spec.Limits.Upper; up > 0 {
		m.lift.Limit = math.Max(motion.DefaultLift, 4*up)
	}
	m.reset()
	return m
}

func (m *rocks) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Reading:
		return m.add(at, in)
	case Accept:
		if at.Captured {
			return one(Warn(Capitalise(AtAngle(at.Position)) + " is stored; x measures it again. " + m.Ask(at)))
		}
		m.alone = false
		return captureOf(m.measured(at))
	case Enter, Reset:
		m.reset()
	case NotStored:
		if m.alone {
			m.reset() // the rocks are made again once the store works
		}
	}
	return nil
}

func (m *rocks) reset() {
	m.rock.Reset()
	m.result = rocking.Backlash{Value: math.NaN(), StandardUncertainty: math.NaN(), Repeatability: math.NaN(), Refused: true}
	m.rocks, m.needed, m.pending = 0, usualRocks, ""
	m.levels = m.levels[:0]
}

// awayLevel is how far, in mm and in swings, a rest lies from the two after it
// that was none of the stops.
const awayLevel, awaySwing = 0.1, 0.6

// setUp reports whether the first rests show that the plunger was only being
// set on the tooth, which looks like half a rock: the one before the last two
// lies well away from both. Then the rocks begin with the last of them.
func (m *rocks) setUp(level float64) bool {
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
	if away <= max(awayLevel, awaySwing*(high-low)) {
		return false
	}
	m.reset()
	m.levels = append(m.levels, level)
	m.lift.Rest(level)
	return true
}

func (m *rocks) add(at At, in Input) []Effect {
	if in.Flags&frame.FlagPress != 0 {
		return one(Fault{Text: "This gauge sends at the press of its key: rocking needs one that sends all the time. Type the backlash instead."})
	}
	switch m.lift.Add(in.Sample) {
	case motion.LiftStarted:
		return m.lifted(at)
	case motion.LiftOver:
		return m.setDown(at)
	}
	if m.lift.Up || m.lift.Far > 0 || at.Done || at.Captured {
		return nil
	}
	var effects []Effect
	for _, e := range slices.Clone(m.rock.Add(in.Sample)) {
		if e.Kind == rocking.StopFound && m.setUp(e.Level) {
			break
		}
		effects = append(effects, m.event(at, e)...)
	}
	if m.pending != "" && in.Sample.T-m.pendingSince >= faultPatience { // it has lasted
		effects = append(effects, faultOf(m.pending))
		m.pending = ""
	}
	if m.rocks < m.needed {
		return effects
	}
	faults := m.soundness(at)
	switch {
	case len(faults) > 0:
		effects = append(effects, faultOf(faults[0]))
	case !m.result.Refused:
		if c, err := m.measured(at); err == nil && !m.ByKey {
			m.alone = true
			effects = append(effects, Captured(c))
		}
		return effects
	}
	if m.rocks >= m.needed+staleRocks { // so that sound ones count once the cause is removed
		m.reset()
	}
	return effects
}

// lifted is the gesture for the next position. Where nothing is captured yet
// it only means that the rocks start anew: a hand that flicks the stem of an
// indicator it has just set down does not mean to go back.
func (m *rocks) lifted(at At) []Effect {
	if !(m.lift.Started-m.tapped <= motion.TapGap) {
		m.from, m.tapped = -1, math.NaN()
		if at.Captured && !at.Done {
			m.from = at.Index
		}
	}
	switch {
	case at.Done:
		return nil
	case at.Captured && m.HandsOff:
		return []Effect{Advance{}, Moving{}}
	}
	had := m.rocks > 0
	m.reset()
	switch {
	case at.Captured:
		return nil
	case had:
		return []Effect{Fault{analysis.OffGear, fmt.Sprintf("%s is NOT stored: the plunger left the tooth before the bell. Set it back there and rock again.",
			Capitalise(Place(at.Position)))}, Moving{}}
	}
	return one(Moving{})
}

// setDown is the plunger back on a tooth. After two taps from a position just
// stored the round goes back to it, to measure it again.
func (m *rocks) setDown(at At) []Effect {
	switch {
	case !m.HandsOff || !m.lift.Tap():
		m.tapped = math.NaN()
	case math.IsNaN(m.tapped):
		m.tapped = m.lift.Ended
	case m.from >= 0:
		m.tapped = math.NaN()
		return []Effect{GoTo{m.from}, Measuring{}}
	}
	if at.Done || at.Captured {
		return nil
	}
	m.reset()
	return one(Measuring{})
}

func (m *rocks) event(at At, e rocking.Event) []Effect {
	switch e.Kind {
	case rocking.StopFound:
		m.lift.Rest(e.Level)
		return one(Stop{From: e.From, To: e.To, Level: e.Level, High: e.High})
	case rocking.RockCounted:
		m.result = m.rock.Result()
		m.rocks = e.Rocks
		m.needed = m.wanted()
		return one(Rock{m.result.Value, m.rocks >= usualRocks && len(m.soundness(at)) == 0})
	case rocking.FaultRaised:
		switch e.Fault {
		case analysis.TooFewRocks:
			return nil
		case analysis.NoDwell, analysis.Frozen, analysis.Gaps, analysis.OffGear: // a moment of hesitation looks like them
			m.pending, m.pendingSince = e.Fault, e.T
			return nil
		case analysis.ZeroShift: // what was before has nothing to do with what comes
			m.reset()
		default:
			m.result = m.rock.Result()
		}
		return one(faultOf(e.Fault))
	case rocking.FaultCleared:
		if m.pending == e.Fault {
			m.pending = ""
		}
		if e.Fault == analysis.PinionSlip || e.Fault == analysis.BaseCreep {
			m.reset() // rocks from while a stop wandered would stay in the mean
		}
		return one(Clear{e.Fault})
	}
	return nil
}

// mostRocks is where more hardly help: a third more than at usual of what is left.
const mostRocks = 10

// wanted is how many rocks this position takes: more where they are likely to
// decide the value by the window, or scatter by more than a careful set-up does.
func (m *rocks) wanted() int {
	b := m.result
	if m.rocks < usualRocks || b.Refused {
		return m.needed
	}
	// A careful set-up repeats to half a hundredth; a 0.01 mm dial cannot show less
	// than one count. Common practice, no source.
	scatter := 0.005
	if m.Resolution > 0.002 {
		scatter = 0.010
	}
	needed := usualRocks
	if b.Repeatability > scatter {
		needed = moreRocks
	}
	sofar := gum.Doubt{Value: b.Value, U: gum.Guarding(b.StandardUncertainty, b.HandU), Own: b.Repeatability / math.Sqrt(float64(m.rocks)), N: m.rocks}
	if more := sofar.Enough(m.Spec.Limits, mostRocks); more > m.rocks {
		return max(needed, more)
	}
	return needed
}

// soundness is what speaks against the rocks so far: the detector's faults, and
// a value that is 25.4 times off what the round has shown or the window
// expects, which is a gauge in the wrong unit.
func (m *rocks) soundness(at At) []analysis.Fault {
	faults := m.result.Faults
	expected := at.Mean
	if at.N == 0 {
		expected = m.Spec.Limits.Middle()
	}
	// Backlashes of one round, or of a window and a gear that needs setting, lie
	// well within 1.5 times of each other; 25.4 is far from both.
	ratio := m.result.Value / expected
	for _, flip := range []float64{25.4, 1 / 25.4} {
		if ratio > flip/1.5 && ratio < flip*1.5 && !slices.Contains(faults, analysis.UnitFlip) {
			faults = append(slices.Clip(faults), analysis.UnitFlip)
		}
	}
	return faults
}

// measured is the capture of the rocks so far, also with a fault: then the
// fault's word is its quality.
func (m *rocks) measured(at At) (record.Capture, error) {
	b := m.rock.Result()
	m.result = b
	if b.Refused || math.IsNaN(b.Value) {
		why := "rock it against both stops"
		if len(b.Faults) > 0 {
			why = strings.TrimSuffix(words.Fault(b.Faults[0]), ".")
		}
		return record.Capture{}, errors.New("nothing to store yet: " + why)
	}
	c := newCapture(b.Value, b.StandardUncertainty, b.Rocks, faultQuality(m.soundness(at)), words.Joined(b.Notes))
	c.Low, c.High, c.Repeatability, c.OwnU, c.HandU = b.LowStop, b.HighStop, b.Repeatability, b.OwnU, b.HandU
	return m.Sheet.AsMeasured(c), nil
}

func (m *rocks) Progress() Progress {
	return Progress{Rocks: m.rocks, Wanted: m.needed, Estimate: m.result.Value, EstimateU: m.result.StandardUncertainty}
}

func (m *rocks) Ask(at At) string {
	switch {
	case at.Captured && at.NextIndex < 0:
		return "Stored. "
	case at.Captured && m.HandsOff:
		return "Stored. Lift the plunger, free the pinion and " + m.turnTo(at.Visit, at.Next) + "."
	case at.Captured:
		return "Stored. Press next and " + m.turnTo(at.Visit, at.Next) + "."
	case m.rocks > 0 && m.rocks < m.needed:
		return fmt.Sprintf("Rock it %s more.", times(m.needed-m.rocks))
	case m.rocks > 0 && m.ByKey:
		return "Enough rocks: press space."
	}
	return fmt.Sprintf("Free the pinion. %s. Hold the pinion. Rock %s.", Capitalise(m.turnHere(at)), times(m.needed))
}
