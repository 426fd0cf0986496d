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
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// Data is everything a report shows. A section without data is empty and is
// left out of every layout. Lengths are mm, torques N·m, pressures kPa; a
// number that is not known is NaN.
type Data struct {
	Sheet     sheet.Sheet
	Made      time.Time // when the report was made, as passed to Build
	First     time.Time // time of the earliest capture; zero: none
	Last      time.Time // time of the latest capture
	Verdict   gum.Verdict
	Headline  string   // the verdict in words, with Standing behind it
	Standing  []string // what is not measured, was skipped or was repeated: a sentence each, without its full stop
	Judged    []Judged
	Backlash  []Round       // one a stage, in the order of the job
	Runouts   []Runout      // one a feature and stage
	Bolts     []BoltCircle  // one a bolt list that was tightened
	Moves     []Move        // every adjuster move in time order
	Changes   []StageChange // backlash from each stage to the next
	Same      analysis.Same // what they take for the same: see Compare
	Patterns  []Pattern     // one a stage with a contact entered
	LeakDowns []LeakDown
	Holds     []job.HoldPoint
	Lacking   []job.Step   // not measured, and the job cannot be closed without
	Repeats   []job.Repeat // outside or failed, then measured again
	Remarks   []Remark     // overrides and notes in time order
	Rejected  []Remark     // captures kept but not used
	Findings  []sheet.Finding

	Attachments []record.CheckedAttachment // of AddAttachments; empty: none, or not looked at
	photos      row                        // of AddPhoto

	Record RecordID // of what the report was made of; its zero value is not known

	Gauges []string // labels of the gauges behind the captures, sorted
	people []string // who entered something
}

// A RecordID says of which record a report was made, so that the one can be
// compared with the other: crownlog verify prints the same figures.
type RecordID struct {
	Job     string `json:"job"`   // the random number of the job
	First   string `json:"first"` // hash of the first line of its chain
	Last    string `json:"last"`  // of the last
	Lines   int    `json:"lines"`
	Program string `json:"program"` // that made the report
	Text    string `json:"-"`       // what captures.digest holds, for the QR code
}

// Measured is what is known of a feature in a stage, and how its figures are
// written.
type Measured struct {
	feature.Assessment
	Format Format
}

func (m Measured) title() string { return record.Title(m.Feature) }

// expanded is the expanded uncertainty of the value, about 95 %; of several the
// largest; NaN: unknown.
func (m Measured) expanded() float64 { return gum.Coverage * m.U }

func (m Measured) captures() []record.Capture {
	return each(m.Results, func(r feature.Result) record.Capture { return r.Capture })
}

// Judged is one line of the summary: a feature at the latest stage it was
// measured in.
type Judged struct {
	Measured
	Text       string // what the value is, "8 positions, 0.153 to 0.181, spread 0.028"
	Reason     string // of the verdict, in a few words
	Conclusion string // what it means together with other rounds; "": nothing to say
	Default    bool   // the window is the usual one, not the maker's
}

// Round is the backlash around the wheel in one stage.
type Round struct {
	Measured
	Convention string // how the plunger read it, "normal at 106 mm"; "": the points differ
}

// Runout is the run-out of one face or bore in one stage. Its Assessment.Runout
// is never nil.
type Runout struct {
	Measured
	Points []record.Capture // one a place; empty for a continuous turn
	End    time.Time        // of the last capture
}

// BoltCircle is the final torques of one bolt list.
type BoltCircle struct {
	Measured
	List  sheet.BoltList
	Bolts []Bolt // in tightening sequence
}

// Bolt is one bolt in its place in the sequence, with its last pull; a torque
// of NaN: not tightened.
type Bolt struct {
	feature.Result
	Number int // as marked on the flange, 1-based
	Pulls  int // on record for this bolt
}

func (b Bolt) torque() float64 { return b.Capture.Value }

// Move is one adjuster or shim move with the mean backlash around it. Its value
// is in notches, or mm of shim; + is the crown wheel towards the pinion.
type Move struct {
	record.Capture
	Net           float64 // sum of all moves so far
	Before, After float64 // mean backlash of the rounds before and after, mm; NaN: not measured in this stage
	Expected      float64 // mean backlash that was expected after it, mm; NaN: nothing to go by
	ExpectedU     float64 // expanded uncertainty of that
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

// LeakDown is one leak-down test; its value is kPa/min, + is losing pressure.
type LeakDown struct {
	Measured
	Curve   []leak.Sample // as recorded, for whoever has the readings to put in; empty: the rate only
	Ambient float64       // barometer, kPa, for taking the temperature out
}

// Remark is a line of text on the record.
type Remark struct {
	Time  time.Time
	Stage string
	Kind  string // "override", "note", "rejected"
	Text  string
}
