package logger

import (
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
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
	Gauge        string
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
	Rocks   int
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
