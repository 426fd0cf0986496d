// Package job puts the rounds of one axle in order: which step comes next, what
// holds it up, what a finished round means together with the others, and how the
// adjusters are to be moved. It judges nothing by itself: see feature.Assess.
package job

import (
	"slices"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A Job is a job sheet with what has been captured.
type Job struct {
	Sheet    sheet.Sheet
	Captures []record.Capture
}

// A Step is one feature in one stage of the job.
type Step struct {
	feature.Assessment
	Title    string      // "crown wheel bolts, bench"
	Optional bool        // the job can be closed without it
	Caution  string      // shown at the step where it matters
	Hold     []HoldPoint // what blocks it
	Missed   bool        // not measured as found, and what came later has changed the axle
}

// A Request is what the user wants measured next.
type Request struct {
	Stage, Feature string      // "": what the job needs next
	Again          bool        // measure it anew
	Remeasure      bool        // measure anew what of it is outside
	Moved          record.Move // the adjusters were moved so, without a unit; of amount 0: they were not
}

// stageSteps is the trade order of features in each stage.
var stageSteps = map[string][]string{
	record.StageAsFound: {record.FeaturePreloadTotal, record.FeatureBacklash, record.FeatureRunoutBackFace},
	record.StageBench:   {record.FeatureRunoutFlange, record.FeatureRunoutBore, record.FeatureWheelBolts, record.FeatureRunoutBackFace},
	record.StageSetUp:   {record.FeaturePreloadPinion, record.FeatureBacklash, record.FeaturePatternDrive, record.FeaturePatternCoast},
	record.StageCaps:    {record.FeatureCapBolts, record.FeatureBacklash, record.FeaturePreloadTotal},
	record.StageFinal:   {record.FeatureBacklash, record.FeatureLeakDown, record.FeatureEngagement, record.FeatureOilFill},
}

// holdsBefore names the hold points that a step waits for. Whatever comes after
// the strip waits for the as-found backlash, whichever stage is begun with.
func holdsBefore(stage, name string) []string {
	if stage == record.StageAsFound {
		return nil
	}
	wait := []string{HoldAsFound}
	if stage == record.StageSetUp {
		wait = append(wait, HoldFace)
	}
	if name == record.FeatureOilFill {
		wait = append(wait, HoldRecheck, HoldAir)
	}
	return wait
}

// Steps lists the whole job in trade order. A feature is optional when the
// sheet gives no figure for it, the backlash never.
func (j Job) Steps() []Step {
	var steps []Step
	holds := HoldPoints(j.Sheet, j.Captures)
	for _, stage := range j.Sheet.StageList() {
		names, ok := stageSteps[stage]
		if !ok {
			names = []string{record.FeatureBacklash}
		}
		for _, name := range names {
			if feature.Lacks(j.Sheet, name) != nil {
				continue
			}
			steps = append(steps, j.Step(stage, name, holds))
		}
	}
	return steps
}

// Step is one step of the job, with those of the hold points that block it.
func (j Job) Step(stage, name string, holds []HoldPoint) Step {
	s := Step{
		Assessment: feature.Assess(j.Sheet, j.Captures, stage, name),
		Title:      record.Title(name) + ", " + stage, Caution: feature.Caution(name),
	}
	s.Optional = name != record.FeatureBacklash && !j.specified(name)
	if stage == record.StageAsFound && name != record.FeatureBacklash {
		s.Optional = true
	}
	if pair := feature.OtherFlank(name); pair != "" && feature.Assess(j.Sheet, j.Captures, stage, pair).Measured > 0 {
		s.Optional = false // one flank alone says too little
	}
	s.Missed = stage == record.StageAsFound && !s.Complete && j.changedSinceFound()
	wait := holdsBefore(stage, name)
	for _, h := range holds {
		if h.Blocking && slices.Contains(wait, h.Name) {
			s.Hold = append(s.Hold, h)
		}
	}
	return s
}

// Open reports whether there is still something to do: measure it or, where it
// is outside its window, put it right and measure again. How the axle was found
// needs nothing put right, and what was missed then cannot be measured any more.
func (s Step) Open() bool {
	return !s.Missed && (!s.Complete || s.Verdict == gum.Outside && s.Stage != record.StageAsFound)
}

// Next is the first step in trade order that is open and not optional, or
// measured and outside; false when none is left.
func (j Job) Next() (Step, bool) {
	for _, s := range j.Steps() {
		if s.Open() && (s.Complete || !s.Optional) {
			return s, true
		}
	}
	return Step{}, false
}

// At is the stage the job is at: that of the latest capture that stands and was
// measured, or the first stage.
func (j Job) At() string {
	at, ok := latestStage(j.Captures, func(c record.Capture) bool { return record.IsMeasured(c.Feature) && j.hasStage(c.Stage) })
	if !ok {
		return j.Sheet.StageList()[0]
	}
	return at
}

// latestStage is the stage of the latest capture that stands and is wanted; false
// without one.
func latestStage(cs []record.Capture, wanted func(record.Capture) bool) (string, bool) {
	for _, c := range slices.Backward(record.Active(cs)) {
		if wanted(c) {
			return c.Stage, true
		}
	}
	return "", false
}

// changedSinceFound reports whether something stands that was measured in a
// later stage, or moved: the axle is no longer as it was found.
func (j Job) changedSinceFound() bool {
	return slices.ContainsFunc(record.Active(j.Captures), func(c record.Capture) bool {
		return c.Feature == record.FeatureMove || c.Stage != record.StageAsFound && record.IsMeasured(c.Feature)
	})
}

// specified reports whether the sheet gives a figure for a feature.
func (j Job) specified(name string) bool {
	if _, ok := j.Sheet.Printed(name); ok {
		return true
	}
	_, ok := j.Sheet.BoltList(name)
	return ok
}
