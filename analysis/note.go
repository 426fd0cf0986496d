package analysis

// A Note is what a measurement set aside, could not tell, or would be surer for:
// a code, and the figures that belong to it. Its sentence is in logger/words.
type Note struct {
	Code NoteCode
	Args []float64 // in the order and the units that the comment of the code gives
}

// Of is the note with its figures.
func (c NoteCode) Of(args ...float64) Note { return Note{c, args} }

// A NoteCode says what a note is of.
type NoteCode string

// The notes of the rocking backlash.
const (
	FirstRockAside   NoteCode = "first rock aside"
	PartialAside     NoteCode = "partial rocks aside" // how many
	OddStopsAside    NoteCode = "odd stops aside"     // how many
	MaybeEndOfTravel NoteCode = "end of travel?"      // one stop reads alike
	DigitsStand      NoteCode = "digits stand still"  // more rocks tell no more
	RestsLeftOut     NoteCode = "rests left out"      // of a long trace, how many
	TimeWentBack     NoteCode = "time went back"      // how often
	OilFilm          NoteCode = "oil film"            // creep far into the stops
	GaugeLags        NoteCode = "gauge lags"          // too much for so short rests
	PeakToPeak       NoteCode = "peak to peak"        // of a wheel that never rested, in the unit of the trace
	NoLengths        NoteCode = "no sense as lengths" // readings or set-up
)

// The notes that several measurements share.
const (
	NotNumbers  NoteCode = "not numbers"  // how many readings
	FewReadings NoteCode = "few readings" // how many
	ReadingGaps NoteCode = "reading gaps" // how many
	NoTorque    NoteCode = "no torque"
)

// The notes of a run-out.
const (
	FewPlaces     NoteCode = "few places" // how many
	ReadingStood  NoteCode = "reading stood"
	TooQuick      NoteCode = "too quick"  // seconds of a turn
	OneTurnSeen   NoteCode = "one turn"   // seconds of it
	TurnsSeen     NoteCode = "turns"      // how many, seconds of one
	TwoCounts     NoteCode = "two counts" // of the display, all the movement
	MaybeTwoTurns NoteCode = "two turns?"
	UnreadArc     NoteCode = "unread arc"      // degrees
	ReadingStep   NoteCode = "reading step"    // mm, degrees
	OffByTurn     NoteCode = "off by a turn"   // mm
	SpikesAside   NoteCode = "spikes aside"    // how many, how many of them repeat each turn
	StandsOut     NoteCode = "stands out"      // degrees, mm; of indexed places
	StandsOutOnce NoteCode = "stands out once" // degrees, mm; of a turn not passed twice
	NoSecond      NoteCode = "no second harmonic"
	FewForSecond  NoteCode = "few for second" // how many places
	NoFirst       NoteCode = "no first harmonic"
)

// The notes of an air test.
const (
	NoTime          NoteCode = "no time"
	ZeroFromStart   NoteCode = "zero from the start"
	NeverChanged    NoteCode = "never changed"
	NoTemperature   NoteCode = "no temperature" // kPa for each °C
	ShortTest       NoteCode = "short test"     // seconds
	NoLeakSeen      NoteCode = "no leak seen"
	Warmed          NoteCode = "warmed" // °C, kPa/min as read
	StillSettling   NoteCode = "still settling"
	QuickLoss       NoteCode = "quick loss"       // kPa, seconds
	GaugeStepped    NoteCode = "gauge stepped"    // kPa, seconds
	LastDigit       NoteCode = "last digit"       // kPa of drop
	TemperatureHeld NoteCode = "temperature held" // °C
)

// The notes of pulls and of a preload.
const (
	NegativePull   NoteCode = "negative pull" // seconds
	PullGap        NoteCode = "gap in a pull" // seconds
	PullUnfinished NoteCode = "pull unfinished"
	NothingAbove   NoteCode = "nothing above" // N·m
	ShortTurning   NoteCode = "short turning"
	NeverSettled   NoteCode = "never settled"
	NoRipple       NoteCode = "no ripple"
	NoBreakaway    NoteCode = "no breakaway"
	TorqueTrend    NoteCode = "torque trend" // N·m from, to
)
