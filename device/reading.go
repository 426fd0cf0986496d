package device

import (
	"time"

	"crownlog/device/frame"
)

// A Reading is one value a gauge sent. Value is in Unit exactly as the frame
// gave it; conversion to mm, N·m or kPa is the caller's.
type Reading struct {
	Time  time.Time // arrival of the frame's last byte; frames that one Read brought are spread over the time since the Read before
	Gauge string    // the label the gauge was opened under
	Raw   string    // the frame as it arrived, line end removed; binary frames in hex
	Value float64   // finite
	Unit  string    // "mm", "in", "µm", "N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm", "kPa", "bar", "psi", "deg", "°C" or ""
	Flags frame.Flags
}

// An EventKind says what an Event is.
type EventKind uint8

const (
	EventReading EventKind = iota + 1 // Reading holds a sound value
	EventGarbled                      // a frame could not be decoded; Text quotes it
	EventSilent                       // nothing heard for five usual intervals; Text says for how long
	EventLost                         // the port went away, or cannot be opened again; Text says why
	EventBack                         // the port is open again; Text names it
	EventEnd                          // the source ended by itself (end of a file or of typed input)

	// No gauge sends these; the readings of a round keep them beside what it sent.
	EventRound   // a round begins; Text is how, for Replay
	EventCommand // Text was asked of the round by a key, a pedal or a gesture
)

// kindWords are the words of the kinds of event.
var kindWords = [...]string{
	EventReading: "reading", EventGarbled: "garbled", EventSilent: "silent", EventLost: "lost", EventBack: "back", EventEnd: "end",
	EventRound: "round", EventCommand: "command",
}

// String is the kind in one word.
func (k EventKind) String() string { return kindWords[k] }

// An Event is what a gauge tells the round: a reading or a fact about the stream.
type Event struct {
	Kind    EventKind
	Time    time.Time
	Gauge   string
	Reading Reading     // for EventReading
	Flags   frame.Flags // for EventGarbled: what the frame said all the same, such as over range
	Text    string      // for the other kinds
	Line    int         // of typed input: the line a reading or what is garbled stands in, from 1; else 0
}
