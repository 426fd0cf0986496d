package feature

import (
	"crownlog/analysis"
	"crownlog/logger/record"
)

// An Effect is one thing that a measurer wants done, one of the types below.
type Effect any

type (
	// Captured is to be stored at the current visit. Stage, feature, unit and
	// position are filled in, and time and gauge where they are missing.
	Captured record.Capture

	// Advance goes on to the next visit without a capture, unless the round is
	// done.
	Advance struct{}

	// GoTo makes another visit the current one, and measures it once more.
	GoTo struct{ Index int }

	// A Fault says that something is wrong, with its remedy, and rings.
	Fault struct {
		Fault analysis.Fault // "": none that has a word
		Text  string
	}

	// A Warn is a line to be shown that is no fault of the measurement.
	Warn string

	// Ring sounds the bell: something is over, and the next thing begins.
	Ring string

	// Clear takes back what is shown: the fault named, or with "" anything.
	Clear struct{ Fault analysis.Fault }

	// A Stop is a rest of the wheel against one flank.
	Stop struct {
		From, To float64 // seconds, on the time base of the samples
		Level    float64
		High     bool
	}

	// A Rock was counted; the value so far. Sound says that the measurement goes
	// well: any fault shown is over.
	Rock struct {
		Value float64
		Sound bool
	}

	// Moving and Measuring say what the fitter is at.
	Moving    struct{}
	Measuring struct{}

	// A Block stops here until it is passed with a reason, which is recorded
	// under its name first.
	Block struct{ Name, Text string }

	// Refuse ends the input with an error.
	Refuse struct{ Err error }
)

// one is the effects of a step that has a single one.
func one(e Effect) []Effect { return []Effect{e} }

// faultOf is a fault with its usual words.
func faultOf(f analysis.Fault) Fault { return Fault{f, faultText[f]} }

// warnOf is an error as a line to be shown.
func warnOf(err error) Warn { return Warn(Capitalise(err.Error()) + ".") }

// captureOf stores c, or shows why there is nothing to capture.
func captureOf(c record.Capture, err error) []Effect {
	if err != nil {
		return one(warnOf(err))
	}
	return one(Captured(c))
}
