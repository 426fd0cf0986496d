// Package record holds what a job measures and notes, as fields: captures, moves,
// overrides and attached files, with the stages and features they belong to. It
// says which captures are active (neither corrected nor taken back) and which of
// those are still valid (no work on the axle has put them out of date). It knows no file: a Store
// keeps them, the job folder of package journal or a list in memory.
package record

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// The stages of a job in trade order; a sheet may name more.
const (
	StageAsFound = "as-found"
	StageFitUp   = "fit-up" // dry: the wheel on the new centre with its old bolts, snug
	StageBench   = "bench"
	StageSetUp   = "set-up"
	StageCaps    = "caps-torqued"
	StageFinal   = "final"
)

// The features a job can record.
const (
	FeatureBacklash       = "backlash"
	FeatureSnug           = "backlash-caps-snug" // as found at one place, the caps slackened to snug
	FeatureRunoutBackFace = "runout-back-face"
	FeatureRunoutFlange   = "runout-carrier-flange"
	FeatureRunoutBore     = "runout-bore"
	FeatureWheelBolts     = "bolt-torque-crown-wheel"
	FeatureCapBolts       = "bolt-torque-caps"
	FeaturePreloadPinion  = "preload-pinion"
	FeaturePreloadTotal   = "preload-total"
	FeaturePatternDrive   = "pattern-drive"
	FeaturePatternCoast   = "pattern-coast"
	FeatureLeakDown       = "leak-down"
	FeatureEngagement     = "engagement"
	FeatureCloseUp        = "close-up" // cover, sealant and breather
	FeatureOilFill        = "oil-fill"
	FeatureNote           = "note"     // free text, sealant, photo: text in Note
	FeatureMove           = "move"     // an adjuster move: Value in notches or mm of shim, + is the crown wheel towards the pinion as entered
	FeatureOverride       = "override" // a hold point skipped with its reason in Note
	FeatureCheck          = "check"    // what somebody saw to, ticked off a list: its name in Hold, and Note
)

// A Capture is one line of captures.csv: one backlash, one final torque, one
// run-out point. It is never rewritten; a correction is a new capture whose
// Supersedes names the old one.
type Capture struct {
	ID         int
	Supersedes int // 0: none
	Time       time.Time
	Stage      string
	Feature    string
	Position   int     // 1-based; 0: the whole feature
	AngleDeg   float64 // NaN: none
	Value      float64 // in Unit; NaN: refused or text only
	Unit       string
	U          float64 // standard uncertainty, half of what covers 95 %: enlarged where it rests on few readings; NaN: unknown
	N          int     // rocks, readings or turns behind the value
	Low, High  float64 // levels of the stops, or window of a trace; NaN: none
	Quality    string  // "ok", "keyed", "rejected", or fault words joined by "+"
	Gauge      string
	Note       string // free text

	// Repeatability is the standard deviation behind Value, in Unit: of the
	// rocks, or of the readings. NaN: none.
	Repeatability float64

	// What U is made of, as far as that is known apart; 0: not known. OwnU is the
	// position's own, HandU the hand's that pressed the wheel against its stops, a
	// rectangle; the rest is of the gauge and of how it was set down. Of several
	// positions what is not their own moves all alike.
	OwnU, HandU float64

	// How a backlash was read: "normal" or "transverse", "" for unknown, and the
	// radius at which Value holds, mm, NaN for unknown.
	Convention string
	RadiusMM   float64

	// Who entered what a person enters: see Entered. "" is unknown. It stands in the
	// note, in front of all else.
	By string

	// From is the file of readings and its line that it was made at, with a colon
	// between them; "" for none. The store fills it in.
	From string

	// What some features know beyond their number. It is stored in words, in
	// front of Note: see NoteText.
	Pass               Pass       // of a bolt's pull
	Unseated, Reversed bool       // of a move: a bearing cup did not follow it, or the adjuster was turned back on the way
	Near, Far          float64    // of a move: in by so much on the crown-wheel side and on the far side, - is out; both 0: in and out by Value
	Hold               string     // of an override: the hold point or block that was skipped; Note is why. Of a check: its name
	Attachment         Attachment // of a note: the file it came with
}

// Entered reports whether c is what a person says, not what a gauge sent: a value
// that was typed, a try of the lock, a note, a move, an override, or one of them
// or a measured one taken back.
func (c Capture) Entered() bool {
	return slices.Contains([]string{QualityKeyed, QualityClick, QualityRejected}, c.Quality) ||
		slices.Contains([]string{FeatureNote, FeatureMove, FeatureOverride, FeatureEngagement, FeatureCheck}, c.Feature)
}

// A Pass is the round of pulls a bolt's torque belongs to; its zero value is
// none.
type Pass struct {
	N, Of   int // 1-based
	Percent int // of the target

	// Degrees is by how much a bolt was turned on after that pass, which has no
	// torque of its own; 0: it was pulled to a torque.
	Degrees float64
}

// Final reports whether the pull gave the bolt its torque: it is of the last
// pass, or of none, and no angle.
func (p Pass) Final() bool { return p.N >= p.Of && p.Degrees == 0 }

// AttachmentsDir is where a job folder keeps attached files.
const AttachmentsDir = "attachments"

// An Attachment is a file kept with the job; its zero value is none.
type Attachment struct {
	Path   string `json:"path"`   // inside the job folder, with slashes
	SHA256 string `json:"sha256"` // when it was attached, 64 hexadecimal digits
}

// A CheckedAttachment is an attached file with what its copy is like now.
type CheckedAttachment struct {
	Attachment
	Problem string `json:"problem"` // in words; "": it is what was attached
}

// A Store keeps what a round must not lose.
// Append returns only after the capture is on stable storage, with its ID set.
type Store interface {
	Append(c Capture) (Capture, error)
	Captures() []Capture // all of them in order, superseded ones too; the caller does not change them
}

// A Position is one place a round visits.
type Position struct {
	Index    int     // 1-based
	AngleDeg float64 // of the wheel, in the direction of turning
	Label    string  // "135°", "bolt 7"

	// PinionTurns is how many turns of the pinion come from the position before,
	// whole or half; 0: the wheel is turned to its angle.
	PinionTurns float64

	// Tooth is the tooth of the crown wheel that is nearest, counted from 1 at
	// position 1; 0: not known.
	Tooth int
}

// SafeName refuses names of stages and features that could not be part of a file's
// name on every system, or that would reach out of the job folder.
func SafeName(names ...string) error {
	for _, s := range names {
		if s == "" || strings.Trim(s, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
			return fmt.Errorf("name %q: want lower-case letters, digits and hyphens", s)
		}
	}
	return nil
}
