// Package report lays out what a job folder holds for people and for other
// programs: one HTML page, the same content as PDF, JSON, and the changes
// between stages in plain sentences. Build computes everything once; the
// writers only lay it out. It never says that an axle is safe, only what the
// readings show about the window that was entered.
package report

import (
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// Data is everything a report shows. A section without data is empty and is
// left out of every layout. Lengths are mm, torques N·m, pressures kPa; a
// number that is not known is NaN.
type Data struct {
	Sheet     sheet.Sheet
	Made      time.Time // when the report was made, as passed to Build; its location is that of the days shown
	First     time.Time // time of the earliest capture; zero: none
	Last      time.Time // time of the latest capture
	Verdict   gum.Verdict
	Headline  string // the verdict in words
	Judged    []Judged
	Backlash  []Round       // one a stage, in the order of the job
	Runouts   []Runout      // one a feature and stage
	Bolts     []BoltCircle  // one a bolt list that was tightened
	Moves     []Move        // every adjuster move in time order
	Changes   []StageChange // backlash from each stage to the next
	Patterns  []Pattern     // one a stage with a contact entered
	LeakDowns []LeakDown
	Holds     []job.HoldPoint
	Remarks   []Remark // overrides and notes in time order
	Rejected  []Remark // captures kept but not used
	Findings  []sheet.Finding

	Attachments []record.CheckedAttachment // of AddAttachments; empty: none, or not looked at

	Gauges []string // labels of the gauges behind the captures, sorted
}

// Judged is one line of the summary: a feature at the latest stage it was
// measured in.
type Judged struct {
	Stage, Feature string
	Title          string  // the feature in plain words
	Value          float64 // the mean of a round; NaN for bolts, which have several
	U              float64 // expanded uncertainty, about 95 %; of bolts the largest; NaN: unknown
	Format         Format
	Text           string // what the value is, "mean of 8, spread 0.03"
	Limits         gum.Limits
	Verdict        gum.Verdict
	Reason         string
	Rule           string // the acceptance rule of the window
	Conclusion     string // what it means together with other rounds; "": nothing to say
	Default        bool   // the window is the usual one, not the maker's
}

// Round is the backlash around the wheel in one stage.
type Round struct {
	Stage  string
	Points []Point // by position
	Round  analysis.Round
	Spec   analysis.RoundSpec
	Format Format
	Terms  string // how the plunger read it, "normal at 106 mm"; "": the points differ

	Verdict gum.Verdict
	Reason  string // of the verdict, in a few words
}

// Point is one position of a round.
type Point struct {
	Position      int
	AngleDeg      float64
	Value         float64
	U             float64 // expanded uncertainty
	Rocks         int
	Repeatability float64
	Verdict       gum.Verdict
	Quality       string
}

// Runout is the run-out of one face or bore in one stage.
type Runout struct {
	Stage, Feature string
	Title          string
	Points         []RunoutPoint // empty for a continuous turn
	End            time.Time     // of the last capture
	Runout         runout.Result
	Limits         gum.Limits
	Verdict        gum.Verdict
	Reason         string // of the verdict, in a few words
	Format         Format
}

// RunoutPoint is one indicator reading at an angle of the wheel.
type RunoutPoint struct{ AngleDeg, Value float64 }

// BoltCircle is the final torques of one bolt list.
type BoltCircle struct {
	Stage, Feature string
	Title          string
	List           sheet.BoltList
	Target         float64 // N·m
	Lower, Upper   float64 // N·m, the tolerance band
	Bolts          []Bolt  // in tightening sequence
	Verdict        gum.Verdict
	Reason         string  // of the verdict, in a few words
	U              float64 // largest expanded uncertainty of the torques
	Format         Format
}

// Bolt is one bolt in its place in the sequence.
type Bolt struct {
	Number  int     // as marked on the flange, 1-based
	Torque  float64 // N·m, the last pull; NaN: not tightened
	U       float64 // expanded uncertainty
	Pulls   int     // pulls on record for this bolt
	Verdict gum.Verdict
	Quality string
}

// Move is one adjuster or shim move with the mean backlash around it.
type Move struct {
	Time          time.Time
	Stage         string
	Amount        float64 // notches, or mm of shim; + is the crown wheel towards the pinion
	Unit          string
	Net           float64 // sum of all moves so far
	Before, After float64 // mean backlash of the rounds before and after, mm; NaN: not measured in this stage
	Expected      float64 // mean backlash that was expected after it, mm; NaN: nothing to go by
	ExpectedU     float64 // expanded uncertainty of that
	Note          string
}

// StageChange is what happened to the backlash between two stages.
type StageChange struct {
	From, To string
	Change   analysis.Change
	U        float64 // expanded uncertainty of the mean change
	Sentence string  // "moved by 0.03 mm when the caps were torqued"
	Format   Format
}

// Pattern is the contact pattern of one stage.
type Pattern struct {
	Stage        string
	Drive, Coast *setup.Contact // nil: not entered
	Advice       setup.PatternAdvice
}

// LeakDown is one leak-down test.
type LeakDown struct {
	Stage   string
	End     time.Time // of the test
	Rate    float64   // kPa/min, + is losing pressure
	U       float64   // expanded uncertainty
	Limits  gum.Limits
	Verdict gum.Verdict
	Curve   []leak.Sample // empty: the rate only
	Ambient float64       // barometer, kPa, for taking the temperature out
	Note    string
}

// Remark is a line of text on the record.
type Remark struct {
	Time  time.Time
	Stage string
	Kind  string // "override", "note", "rejected"
	Text  string
}
