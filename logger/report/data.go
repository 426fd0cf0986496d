// Package report lays out what a job folder holds for people and for other
// programs: one HTML page, the same content as PDF, JSON, and the changes
// between stages in plain sentences. Build computes everything once; the
// writers only lay it out. It never says that an axle is safe, only what the
// readings show about the window that was entered.
package report

import (
	"math"
	"slices"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// Data is everything a report shows. A section without data is empty and is
// left out of every layout. Lengths are mm, torques N·m, pressures kPa; a
// number that is not known is NaN.
type Data struct {
	Sheet    sheet.Sheet
	Made     time.Time // when the report was made, as passed to Build
	First    time.Time // time of the earliest capture; zero: none
	Last     time.Time // time of the latest capture
	Verdict  gum.Verdict
	Headline string        // the verdict in words, with Standing behind it
	Standing []string      // what is not measured, was skipped or was repeated: a sentence each, without its full stop
	Measured []Measured    // features in the order of the trade, each in the stages it was measured in
	Judged   []Judged      // each feature at the latest of its stages
	Moves    []Move        // every adjuster move in time order
	Changes  []StageChange // backlash from each stage to the next
	Same     analysis.Same // what they take for the same: see Compare
	Patterns []Pattern     // one a stage with a contact entered
	Holds    []job.HoldPoint
	Lacking  []job.Step   // not measured, and the job cannot be closed without
	Repeats  []job.Repeat // outside or failed, then measured again
	Remarks  []Remark     // overrides and notes in time order
	Rejected []Remark     // captures kept but not used
	Findings []sheet.Finding
	Record   RecordID // of what the report was made of; its zero value is not known
	Gauges   []string // labels of the gauges behind the captures, sorted

	captures []record.Capture
	decided  string   // the headline without what stands
	people   []string // who entered something
	attached string   // of AddAttachments, how many files are sound
	photos   row      // of AddPhoto
}

// flanks are the two sides of a contact pattern, which are judged together.
var flanks = []string{record.FeaturePatternDrive, record.FeaturePatternCoast}

var (
	boltLists = []string{record.FeatureWheelBolts, record.FeatureCapBolts}
	runouts   = []string{record.FeatureRunoutFlange, record.FeatureRunoutBore, record.FeatureRunoutBackFace}
)

// of is what was measured of some features.
func (d Data) of(features ...string) []Measured {
	return slices.DeleteFunc(slices.Clone(d.Measured), func(m Measured) bool { return !slices.Contains(features, m.Feature) })
}

func (d Data) backlash() []Measured { return d.of(record.FeatureBacklash) }

// A RecordID says of which record a report was made, so that the one can be
// compared with the other: crownlog verify prints the same figures.
type RecordID struct {
	journal.Digest
	Program string `json:"program"` // that made the report
}

// Measured is what is known of a feature in a stage, and how its figures are
// written.
type Measured struct {
	feature.Assessment // with a Runout of every run-out
	Format             Format
	Curve              []leak.Sample // of an air test, for whoever has the readings to put in; empty: the rate only
}

func (m Measured) title() string { return record.Title(m.Feature) }

// expanded is the expanded uncertainty of the value, about 95 %; of several the
// largest; NaN: unknown.
func (m Measured) expanded() float64 { return gum.Coverage * m.U }

func (m Measured) captures() []record.Capture {
	return Each(m.Results, func(r feature.Result) record.Capture { return r.Capture })
}

// places are the results that stand at an angle of the wheel.
func (m Measured) places() []feature.Result {
	return slices.DeleteFunc(slices.Clone(m.Results), func(r feature.Result) bool {
		return r.Capture.Position == 0 || math.IsNaN(r.Capture.AngleDeg) || math.IsNaN(r.Capture.Value)
	})
}

// Turned reports whether it is a run-out that was taken in one continuous turn.
func (m Measured) Turned() bool { return m.Runout != nil && len(m.places()) == 0 }

// harmonics are the once and the twice per turn part; nil: not known.
func (m Measured) harmonics() (h1, h2 *analysis.Harmonic) {
	if m.Runout != nil {
		return m.Runout.H1, m.Runout.H2
	}
	return Harmonics(m.Round)
}

// Harmonics are the once and the twice per turn part of a round; nil: not known.
func Harmonics(r analysis.Round) (h1, h2 *analysis.Harmonic) {
	if r.H1.Amplitude > 0 {
		h1 = &r.H1
	}
	if r.H2Known {
		h2 = &r.H2
	}
	return h1, h2
}

// AddTurn adds the harmonics of a run-out measured in a continuous turn, found
// in its recorded readings. The full movement stays as it was captured.
func (m *Measured) AddTurn(turn runout.Result) {
	if !turn.Refused {
		turn.FIM, turn.FIMU = m.Runout.FIM, m.Runout.FIMU
		m.Runout = &turn
	}
}

// Judged is one line of the summary.
type Judged struct {
	Measured
	Text       string // what the value is, "8 positions, 0.153 to 0.181, spread 0.028"
	Reason     string // of the verdict, in a few words
	Conclusion string // what it means together with other rounds; "": nothing to say
	Default    bool   // the window is the usual one, not the maker's
}

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
	Stage  string
	Flanks [2]*setup.Contact // drive and coast; nil: not entered
	Advice setup.PatternAdvice
}

// Remark is a line of text on the record.
type Remark struct {
	Time  time.Time `json:"time"` // in UTC
	Stage string    `json:"stage"`
	Kind  string    `json:"kind"` // "override", "note", "rejected"
	Text  string    `json:"text"`
}
