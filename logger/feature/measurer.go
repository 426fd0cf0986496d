package feature

import (
	"time"

	"crownlog/analysis"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// A Measurer turns what happens at the places of a round into captures. It
// knows no round: each step takes what came in and the round at that moment,
// and answers with what is to be done about it.
type Measurer interface {
	// Step takes one input. The effects are to be applied in order, and the
	// rest left out after one that could not be; nil, which most steps answer,
	// costs no allocation. What is only told (see InputKind) has no effects.
	Step(at At, in Input) []Effect
	Progress() Progress
	Ask(at At) string // what the fitter does next, one sentence or two short ones
}

// A Setup is what stays the same for a round.
type Setup struct {
	Sheet      sheet.Sheet
	Of         Feature
	Positions  []record.Position
	Spec       analysis.RoundSpec // the sheet's, in the feature's unit
	Resolution float64            // of the gauge, in the unit of its readings; 0: not known
	Unit       string             // of readings that name none; "": the feature's own
	Override   string             // reason for measuring despite a block; "": none
	Keyed      bool               // values are typed, no gauge sends
	Piped      bool               // typed values come from a file: a question is not answered
	HandsOff   bool               // the gauge alone moves the round on
	NoKeys     bool               // no command can be given
	ByKey      bool               // a backlash is captured by command only
}

// A Visit is one capture to be made: of a place, for bolts in one pass.
type Visit struct {
	Position record.Position
	Place    int     // index into the positions of the round
	Pass     int     // of bolts, 1-based
	Passes   int     // of bolts; 0: not measured in passes
	Target   float64 // of bolts, N·m at the wrench; 0: none
	Turn     float64 // of bolts, degrees to be turned on by after the last pass; 0: a pull
	Final    bool    // of the last pass, or the only one
}

// An At is a round at one moment.
type At struct {
	Visit              // the capture to be made, or made last
	Index      int     // of the visit
	From       Visit   // where the wheel came from; the same: not known
	Next       Visit   // the next without a capture, going round
	NextIndex  int     // its index; -1: none is without
	Captured   bool    // the visit has its capture and is not being measured once more
	Done       bool    // all visits have theirs
	Moving     bool    // the round is between two places
	Overridden bool    // a block was passed with a reason
	Supersedes int     // ID of what a capture here takes the place of, 0: nothing
	Mean       float64 // of what is measured so far
	N          int     // values behind it
	Decimals   int     // as many as the gauge resolves
	Digits     int     // most decimals a reading was written with; -1: the last one came without text
	Now        time.Time
	Start      time.Time // zero of the sample times
	First      time.Time // when the first capture of the feature in this stage was made since work on the axle put those before out of date, also of one taken back; zero: none
	T          float64   // time of the newest sample, s
}

// An InputKind says what came in.
type InputKind int

const (
	Reading     InputKind = iota + 1 // of the gauge: Sample, Flags, Unit, Time, Gauge
	Typed                            // a value: Value, Unit as it was typed, Time, Gauge
	Temperature                      // beside the measurement, °C: Value
	Accept                           // the command to take what has been measured now
	Clicked                          // a wrench without a reading clicked at what it is set to: Time, Gauge
	End                              // the input is over: take what there is

	// What follows is only told.
	Tick      // time has gone on: Time. Has effects all the same
	Enter     // a visit begins, perhaps once more: forget the readings
	Reset     // something came between: forget the readings
	Stored    // the last capture of Step is on record: Value as it was stored
	NotStored // it is not
	Broken    // a reading came that cannot be read
)

// An Input is one thing that comes to a measurer.
type Input struct {
	Kind   InputKind
	Sample analysis.Sample // in the feature's unit of reading, seconds since the round's first one
	Flags  frame.Flags
	Value  float64
	Unit   string // of the gauge or as typed; "": none was named
	Time   time.Time
	Gauge  string // label
}

// A Progress is how far the measurement at a visit is.
type Progress struct {
	Rocks     int     // sound rocks so far at this position
	Wanted    int     // rocks before a capture by itself; 1 of what has no rocks
	Estimate  float64 // running backlash or value at this position; NaN: none
	EstimateU float64 // its standard uncertainty; NaN: not known
	Left      float64 // seconds until a countdown under way is over; 0: none is, or it is over
	Leg       string  // what it counts: "settling", "air test"; "": none is under way
}

// A gatherer keeps what is read until it can be taken as a whole.
type gatherer interface {
	reset()
	add(at At, in Input) []Effect // a Reading or a Temperature
	measured(at At) (record.Capture, error)
	end(at At) []Effect // the input is over
	Progress() Progress
	Ask(at At) string
}

// A gathering is a measurement that is taken as a whole, once.
type gathering struct{ gatherer }

func (m gathering) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Reading, Temperature:
		if !at.Done && !at.Captured {
			return m.add(at, in)
		}
	case Accept:
		return captureOf(m.measured(at))
	case End:
		return m.end(at)
	case Enter, Reset:
		m.reset()
	}
	return nil
}

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

	// A Doubt says what speaks against what is captured next: it is stored once it is
	// given again.
	Doubt string
)

// one is the effects of a step that has a single one.
func one(e Effect) []Effect { return []Effect{e} }

// faultOf is a fault with its usual words.
func faultOf(f analysis.Fault) Fault { return Fault{f, words.Fault(f)} }

// warnOf is an error as a line to be shown.
func warnOf(err error) Warn { return Warn(Capitalise(err.Error()) + ".") }

// captureOf stores c, or shows why there is nothing to capture.
func captureOf(c record.Capture, err error) []Effect {
	if err != nil {
		return one(warnOf(err))
	}
	return one(Captured(c))
}
