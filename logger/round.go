package logger

import (
	"time"

	"crownlog/analysis"
	"crownlog/device"
)

// A RoundConfig says what a round measures and where it keeps it.
type RoundConfig struct {
	Sheet      Sheet
	Stage      string
	Feature    string
	Store      Store
	Readings   ReadingSink      // may be nil
	Resolution float64          // of the gauge, in the feature's unit; 0: the sheet's
	Unit       string           // of readings that name none; "": the feature's own
	Gauge      string           // label for captures by command; readings bring their own
	Listen     func(Event)      // may be nil
	Keyed      bool             // one value a line is one capture
	HandsOff   bool             // advance by gesture
	Continuous bool             // run-out: one continuous turn instead of positions
	Again      bool             // measure the feature anew; the new captures supersede
	Override   string           // reason for measuring despite a block; recorded
	Now        func() time.Time // for commands before any reading; nil: time.Now
}

// A Round measures one feature at all its positions. One goroutine owns it.
type Round struct{}

// NewRound starts a round, or continues it where captures already exist.
func NewRound(c RoundConfig) (*Round, error) { return nil, errPending }

// Handle takes one gauge event. An error means a capture or a raw reading
// could not be stored; the round stays where it was.
func (r *Round) Handle(ev device.Event) error { return errPending }

// Command does what a key or a pedal asks.
func (r *Round) Command(c Command) error { return errPending }

// View is the round at this moment.
func (r *Round) View() View { return View{} }

// Done reports whether every position is measured.
func (r *Round) Done() bool { return false }

// Close ends the round; captures so far stay.
func (r *Round) Close() error { return nil }

// CmdOverride passes a block, with the reason that goes on record.
func CmdOverride(reason string) Command { return Command("override " + reason) }

// CmdPattern enters a contact pattern: along -1 toe..+1 heel, up -1 root..+1 face.
func CmdPattern(along, up float64) Command { return "" }

// CmdValue enters a value in the feature's unit by hand.
func CmdValue(v float64) Command { return "" }

// AdviseMove says how to move the adjusters after the latest backlash round,
// with the gain learned from the recorded moves and the rounds around them.
func AdviseMove(s Sheet, cs []Capture) (analysis.Advice, error) {
	return analysis.Advice{}, errPending
}

// Live returns the captures that stand: neither superseded nor rejected.
func Live(cs []Capture) []Capture { return nil }

// Points returns the live values of a feature in a stage, one a position.
func Points(cs []Capture, stage, feature string) []analysis.RoundPoint { return nil }

// JudgeRound analyses the live captures of a feature in a stage.
func JudgeRound(s Sheet, cs []Capture, stage, feature string) analysis.Round {
	return analysis.Round{}
}

// RunoutOf measures run-out from the live captures of a feature in a stage.
func RunoutOf(s Sheet, cs []Capture, stage, feature string) (analysis.Runout, bool) {
	return analysis.Runout{}, false
}

// PatternOf returns the contact entered for pattern-drive or pattern-coast.
func PatternOf(cs []Capture, stage, feature string) (analysis.Contact, bool) {
	return analysis.Contact{}, false
}

// RecordMove records an adjuster move: notches (or mm of shim), + is the crown
// wheel towards the pinion.
func RecordMove(st Store, stage string, amount float64, unit, note string, at time.Time) (Capture, error) {
	return Capture{}, errPending
}

// RecordNote records free text.
func RecordNote(st Store, stage, text string, at time.Time) (Capture, error) {
	return Capture{}, errPending
}

// RecordOverride records that the named hold point was passed, and why.
func RecordOverride(st Store, stage, name, reason string, at time.Time) (Capture, error) {
	return Capture{}, errPending
}
