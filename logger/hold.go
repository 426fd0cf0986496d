package logger

// A HoldPoint is a place in the job where going on needs something first.
type HoldPoint struct {
	Name       string // stable word, "as-found-backlash"
	Before     string // what must wait: "strip", "set-up", "close"
	Reason     string // one sentence
	Blocking   bool   // still open and not overridden
	Overridden string // the recorded reason, "" if none
}

// HoldPoints lists the hold points of a job in trade order.
func HoldPoints(s Sheet, cs []Capture) []HoldPoint { return nil }

// A Job is a sheet with what has been captured.
type Job struct {
	Sheet    Sheet
	Captures []Capture
}

// A Step is one feature in one stage of the job.
type Step struct {
	Stage, Feature string
	Title          string // "Backlash, as found"
	Done           bool
	Optional       bool
	Measured       int // positions measured
	Positions      int
	Caution        string      // shown at the step where it matters
	Hold           []HoldPoint // blocking this step
}

// Steps lists the whole job in trade order.
func (j Job) Steps() []Step { return nil }

// Next is the first step not done; false when none is left.
func (j Job) Next() (Step, bool) { return Step{}, false }

// FeatureTitle is a feature in plain words, "bolt torque, crown wheel".
func FeatureTitle(feature string) string { return feature }

// FeatureUnit is the unit captures of a feature are kept in.
func FeatureUnit(feature string) (string, bool) { return "", false }

// Features lists the features a round can measure.
func Features() []string { return nil }
