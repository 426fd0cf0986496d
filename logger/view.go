package logger

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// A State is what the round is doing, as one word for the screen.
type State string

const (
	StateWaiting   State = "waiting"   // no reading yet
	StateMeasuring State = "measuring" // readings come in, not enough for a capture
	StateCaptured  State = "captured"  // this position is stored; turn on
	StateMoving    State = "moving"    // between positions
	StatePaused    State = "paused"
	StateHeld      State = "on hold" // a hold point comes first; nothing is measured
	StateLost      State = "gauge lost"
	StateDone      State = "round done"
)

// A View is everything a screen or a line printer needs to show of a round at
// one moment. It is a value: nothing in it changes after it is handed out.
type View struct {
	feature.Assessment // of the round so far; Window and Reason are its own for the screen
	feature.Progress   // at the current position
	job.Outcome        // once the round is done

	At           time.Time
	Vehicle      string
	Invented     bool
	Unit         string
	Decimals     int // as many as the gauge resolves
	State        State
	InchDecimals int     // of a gauge that reads in inches, which OnScreen shows; 0: it does not
	Keyed        bool    // values are typed: there are no readings
	Reading      float64 // last reading in Unit; NaN: none
	ReadingFlags frame.Flags
	Positions    []PositionView
	Current      int // index into Positions; -1: round done
	Window       gum.Limits
	Printed      string            // the window as the manual prints it, where that is in another unit
	Typed        string            // unit of a typed value that names none
	Reason       string            // of the verdict, in a few words
	Trace        []analysis.Sample // the last seconds, T relative to the newest (<= 0)
	Stops        []feature.Stop    // detected stops inside Trace, same time base
	Act          string            // what to do now in a word or two: "rock 2 more"; "": the state says as much
	Action       string            // the next thing to do, one sentence
	Alert        string            // a fault in plain words with its remedy; "" none
	Fault        analysis.Fault
	Tick         job.Check // of the list that holds the round what is to be ticked next; its Name is "" for nothing
	Caution      string    // shown once, at the step where it matters
	Card         []string  // how the dial is set up, line by line; nil: no dial
	Fresh        bool      // nothing was rocked or stored since the round was opened: the card is to be read now
	Garbled      int       // frames counted as broken so far
	Stored       int       // captures on disk
	Bell         int       // counts up by one at each capture, Back at each going back by the plunger, Alarm at each fault
	Back, Alarm  int
}

// A PositionView is one mark on the ring.
type PositionView struct {
	record.Position
	Value   float64 // NaN: not measured yet
	U       float64 // standard uncertainty
	Word    string  // in place of a value: "yes" or "no" for a try of the lock
	Verdict gum.Verdict
	Current bool

	Pulled, Pulls int // of a bolt: passes done, of so many; 0: not in passes
}

// An EventKind says what a round event reports.
type EventKind string

const (
	EventStop     EventKind = "stop"     // a stop was found
	EventRock     EventKind = "rock"     // a sound rock was counted
	EventCaptured EventKind = "captured" // a capture is on disk
	EventFault    EventKind = "fault"    // something is wrong; Text says what and the remedy
	EventCleared  EventKind = "cleared"  // the fault is over
	EventPosition EventKind = "position" // the round moved to another position
	EventUndone   EventKind = "undone"   // a capture was superseded
	EventGauge    EventKind = "gauge"    // garbled frame, silence, lost, back
	EventDone     EventKind = "done"     // all positions are measured
)

// An Event is one thing that happened in a round. Listeners get them in order
// on the round's own goroutine and must not block.
type Event struct {
	Kind     EventKind
	Time     time.Time
	Position record.Position
	Capture  record.Capture // for captured and undone
	Fault    analysis.Fault // for fault
	Text     string
}

// A Command is what a key, a pedal or a gesture asks of a round.
type Command string

const (
	CmdNext      Command = "next"       // go to the next position
	CmdBack      Command = "back"       // go to the position before
	CmdCapture   Command = "capture"    // accept what has been measured now
	CmdClick     Command = "click"      // the wrench clicked at the bolt at hand
	CmdClickPass Command = "click-pass" // and so it did at all the others of an early pass
	CmdRetry     Command = "retry"      // forget the rocks at this position
	CmdUndo      Command = "undo"       // supersede the last capture
	CmdPause     Command = "pause"      // toggles
)

// SoFar is the value at the current position with twice its standard uncertainty,
// for 95 %, both to the second significant digit of that. Source: JCGM 100:2008,
// 7.2.6.
func (v View) SoFar() string {
	d := v.Decimals
	if v.Feature == record.FeatureLeakDown {
		d += 2 // a slope, finer than the gauge by the time it takes
	}
	if !(v.EstimateU > 0) {
		return units.Fixed(v.Estimate, d) + " " + v.ResultUnit()
	}
	expanded, d := gum.RoundU(2 * v.EstimateU)
	return units.Fixed(v.Estimate, d) + " ±" + units.Fixed(expanded, d) + " " + v.ResultUnit()
}

// ResultUnit is the unit of what is measured, which of an air test is not that of
// the readings.
func (v View) ResultUnit() string {
	if own, _ := record.UnitOf(v.Feature); v.Feature == record.FeatureLeakDown {
		return own
	}
	return v.Unit
}

// Deciding is the figure that leaves a verdict open: of the values that reach over
// a limit by their uncertainty the one nearest to it; "" where it is none of them.
func (v View) Deciding() string {
	text, nearest := "", math.Inf(1)
	for _, p := range v.Positions {
		for _, limit := range []float64{v.Window.Lower, v.Window.Upper} {
			if off := math.Abs(p.Value - limit); v.Verdict == gum.TooClose && p.Verdict == gum.TooClose && off < nearest {
				nearest = off
				u, d := gum.RoundU(gum.Coverage * p.U)
				text = fmt.Sprintf("%s ±%s at %s: limit %s", units.Fixed(p.Value, d), units.Fixed(u, d), feature.Place(p.Position), units.Trimmed(limit, d+1))
			}
		}
	}
	return text
}

// TimeLeft is what is left of a countdown, "07:41".
func (v View) TimeLeft() string {
	left := int(math.Ceil(v.Left))
	return fmt.Sprintf("%02d:%02d", left/60, left%60)
}

// WindowText is the spec window in words, "window 0.13 to 0.18 mm"; "" for none.
func (v View) WindowText() string {
	l, u := v.Window.Lower, v.Window.Upper
	unit := " " + cmp.Or(v.Window.Unit, v.Unit)
	d := min(v.Decimals, max(feature.DecimalsOf(units.RoundTo(l, 1e-6)), feature.DecimalsOf(units.RoundTo(u, 1e-6))))
	k := math.Pow10(d) // rounded so that nothing outside looks inside
	low, high := units.Fixed(math.Ceil(units.RoundTo(l*k, 1e-6))/k, d), units.Fixed(math.Floor(units.RoundTo(u*k, 1e-6))/k, d)
	lead, said := "window ", low+" to "+high
	switch {
	case math.IsNaN(l) && math.IsNaN(u):
		return ""
	case math.IsNaN(l):
		lead, said = "at most ", high
	case math.IsNaN(u):
		lead, said = "at least ", low
	}
	if v.Printed != "" {
		lead = v.Printed + " = "
	}
	return lead + said + unit
}

// Doubts says what speaks against the last reading; "" for nothing.
func (v View) Doubts() string {
	flags := v.ReadingFlags &^ frame.FlagPress
	if record.FeatureOf(v.Feature).Quantity == "torque" { // a tool that nobody pulls shows nothing else than zero
		flags &^= frame.FlagFrozen
	}
	return strings.ToUpper(doubtWords.Replace(strings.Join(flags.Words(), " · ")))
}

// doubtWords are those for the eye: a gauge that shows the same digits is on hold,
// or nobody touches it.
var doubtWords = strings.NewReplacer("-", " ", "frozen", "same digits", "duplicate", "repeated")

// RingAngles is where the marks of the positions stand on a ring, clockwise from
// the top in degrees: where they are on the wheel or, where not each has an angle
// of its own, such as bolts, evenly.
func RingAngles(ps []PositionView) []float64 {
	angles, seen, even := make([]float64, len(ps)), make(map[float64]bool, len(ps)), false
	for i, p := range ps {
		a := math.Mod(p.AngleDeg, 360)
		even = even || math.IsNaN(a) || seen[a]
		angles[i], seen[a] = p.AngleDeg, true
	}
	for i := range angles {
		if even {
			angles[i] = 360 * float64(i) / float64(len(ps))
		}
	}
	return angles
}

// NotSure is a verdict that is too close to call, for those who do not know the
// idiom.
const NotSure = "not sure"

// plainWords say on a screen what the record says in words of the trade.
var plainWords = strings.NewReplacer(gum.TooClose.String(), NotSure)

// OnScreen is the view as a screen shows it: in plain words, and the figures in
// inches, to the digits of the gauge, where that reads in inches. The record keeps
// millimetres.
func (v View) OnScreen() View {
	v.Reason, v.Action = plainWords.Replace(v.Reason), plainWords.Replace(v.Action)
	if v.InchDecimals == 0 {
		return v
	}
	const mm = 25.4
	v.Unit, v.Decimals, v.InchDecimals, v.Window.Unit, v.Printed = "in", v.InchDecimals, 0, "in", ""
	r := &v.Round
	for _, x := range []*float64{
		&v.Reading, &v.Estimate, &v.EstimateU, &v.Value, &v.U, &v.Window.Lower, &v.Window.Upper,
		&r.Why.Value, &r.Why.Limit, &r.Mean, &r.StdDev, &r.Spread, &r.SpreadU, &r.ResidualSD, &r.H1.Amplitude, &r.H2.Amplitude,
		&r.Tightest.Value, &r.Tightest.U, &r.Loosest.Value, &r.Loosest.U,
	} {
		*x /= mm
	}
	v.Reason = plainWords.Replace(v.Assessment.Reason())
	v.Positions, v.Trace, v.Stops = slices.Clone(v.Positions), slices.Clone(v.Trace), slices.Clone(v.Stops)
	for i := range v.Positions {
		v.Positions[i].Value /= mm
		v.Positions[i].U /= mm
	}
	for i := range v.Trace {
		v.Trace[i].X /= mm
	}
	for i := range v.Stops {
		v.Stops[i].Level /= mm
	}
	return v
}
