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
	Missed   bool        // not measured in time, and what came later has changed the axle
	Skipped  string      // the reason it was skipped for; ""
}

// A Request is what the user wants measured next.
type Request struct {
	Stage, Feature string      // "": what the job needs next
	Again          bool        // measure it anew
	Remeasure      bool        // measure anew what of it is outside
	Moved          record.Move // the adjusters were moved so, without a unit; the zero value: they were not
}

// stageSteps is the trade order of features in each stage.
var stageSteps = map[string][]string{
	record.StageAsFound: {record.FeaturePreloadTotal, record.FeatureBacklash, record.FeatureRunoutBackFace},
	record.StageFitUp:   {record.FeatureRunoutFlange, record.FeatureRunoutBore, record.FeatureRunoutBackFace},
	record.StageBench:   {record.FeatureRunoutFlange, record.FeatureRunoutBore, record.FeatureWheelBolts, record.FeatureRunoutBackFace},
	record.StageSetUp:   {record.FeaturePreloadPinion, record.FeatureBacklash, record.FeaturePatternDrive, record.FeaturePatternCoast},
	record.StageCaps:    {record.FeatureCapBolts, record.FeatureBacklash, record.FeaturePreloadTotal},
	record.StageFinal:   {record.FeatureBacklash, record.FeatureLeakDown, record.FeatureEngagement, record.FeatureCloseUp, record.FeatureOilFill},
}

// stepsOf is the features of a stage in trade order. The bare flange is measured
// before the wheel is fitted up dry, where that has a stage; of a stage of the
// sheet's own only the backlash is asked for.
func (j Job) stepsOf(stage string) []string {
	names, usual := stageSteps[stage]
	switch {
	case !usual:
		return []string{record.FeatureBacklash}
	case stage == record.StageBench && j.hasStage(record.StageFitUp):
		return names[2:]
	case stage == record.StageAsFound:
		if j.Sheet.GearSet.Used { // its own print is what it is judged by later
			names = append(slices.Clip(names), record.FeaturePatternDrive, record.FeaturePatternCoast)
		}
		if j.specified(stage, record.FeatureCapBolts) { // last, for the caps are slackened for it
			names = append(slices.Clip(names), record.FeatureSnug)
		}
	}
	return names
}

// required reports whether the job cannot be closed without a step: what the
// sheet gives a figure for, the backlash and the contact pattern of every axle,
// and the tests of a lock where there is one.
func (j Job) required(stage, name string) bool {
	switch name {
	case record.FeatureBacklash:
		return true
	case record.FeaturePatternDrive, record.FeaturePatternCoast, record.FeatureCloseUp:
		return stage != record.StageAsFound
	case record.FeatureLeakDown, record.FeatureEngagement:
		return stage != record.StageAsFound && j.Sheet.HasLock()
	}
	return stage != record.StageAsFound && j.specified(stage, name)
}

// waitsFor reports whether a step has to wait for hold points before something.
// Whatever comes after the strip waits for the as-found backlash, whichever
// stage is begun with.
func waitsFor(stage, name, before string) bool {
	closing := name == record.FeatureCloseUp || name == record.FeatureOilFill
	switch before {
	case beforeMeasuring:
		return true
	case beforeStrip:
		return stage != record.StageAsFound
	case beforeLocker:
		return name == record.FeatureWheelBolts && stage != record.StageAsFound
	case beforeSetting:
		return stage == record.StageSetUp || closing
	case beforeClosing:
		return closing
	}
	return name == record.FeatureOilFill
}

// Steps lists the whole job in trade order. A feature is optional when the
// sheet gives no figure for it: see required.
func (j Job) Steps() []Step {
	var steps []Step
	holds := HoldPoints(j.Sheet, j.Captures)
	for _, stage := range j.Sheet.StageList() {
		for _, name := range j.stepsOf(stage) {
			if feature.Lacks(j.Sheet, name) == nil {
				steps = append(steps, j.Step(stage, name, holds))
			}
		}
	}
	return steps
}

// Step is one step of the job, with those of the hold points that block it.
func (j Job) Step(stage, name string, holds []HoldPoint) Step {
	s := Step{
		Assessment: feature.Assess(j.Sheet, j.Captures, stage, name),
		Title:      record.Title(name) + ", " + stage, Caution: feature.Caution(name),
		Optional: !j.required(stage, name),
	}
	if !s.Complete {
		s.Missed = stage == record.StageAsFound && j.changedSinceFound() || stage == record.StageFitUp && j.wheelBolted() ||
			stage == record.StageSetUp && name == record.FeatureBacklash && j.movedCapped()
	}
	for _, h := range holds {
		if h.Stage == stage && h.Feature == name && h.Name != HoldAim { // that skips no measurement
			s.Skipped = h.Skipped
		}
		if h.Blocking && waitsFor(stage, name, h.Before) {
			s.Hold = append(s.Hold, h)
		}
	}
	return s
}

// Open reports whether there is still something to do: measure it or, where it
// is outside its window, put it right and measure again. How the axle was found
// needs nothing put right; what was missed cannot be measured any more, and what
// was skipped is not to be.
func (s Step) Open() bool {
	return !s.Missed && s.Skipped == "" && (!s.Complete || s.Verdict == gum.Outside && s.Stage != record.StageAsFound)
}

// Next is the first step in trade order that is open and not optional, or
// measured and outside; false when none is left.
func (j Job) Next() (Step, bool) {
	steps := j.Steps()
	if i := NextOf(steps); i >= 0 {
		return steps[i], true
	}
	return Step{}, false
}

// NextOf is the index of Next among the steps of a job; -1 when none is left.
func NextOf(steps []Step) int {
	return slices.IndexFunc(steps, func(s Step) bool { return s.Open() && (s.Complete || !s.Optional) })
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

// wheelBolted reports whether the crown wheel stands bolted on for good, which
// ends the dry fit-up.
func (j Job) wheelBolted() bool {
	return slices.ContainsFunc(j.Sheet.StageList(), func(stage string) bool {
		return stage != record.StageAsFound && len(record.Valid(j.Captures, stage, record.FeatureWheelBolts)) > 0
	})
}

// StageOfMove is the stage of an adjuster move that names none: the one the job
// is at, but none before the backlash is set.
func (j Job) StageOfMove() string {
	at := j.At()
	if slices.Contains([]string{record.StageAsFound, record.StageFitUp, record.StageBench}, at) {
		return stageOfMoves(j.Sheet)
	}
	return at
}

// CapsAgain is the step that follows a move made in a stage with the caps
// torqued: the backlash is not as it will be until they are torqued again. It is
// false where they were not, or the sheet lists no cap bolts.
func (j Job) CapsAgain(stage string) (Request, bool) {
	return Request{Stage: record.StageCaps, Feature: record.FeatureCapBolts}, capped(stage) && j.hasStage(record.StageCaps) && j.specified(record.StageCaps, record.FeatureCapBolts)
}

// capped reports whether the caps are torqued when a stage is measured.
func capped(stage string) bool { return stage == record.StageCaps || stage == record.StageFinal }

// movedCapped reports whether the adjusters were last moved with the caps torqued,
// and these are torqued again: nothing can be measured with them snug.
func (j Job) movedCapped() bool {
	work, ok := record.StaleSince(j.Captures, record.StageSetUp, record.FeatureBacklash)
	return ok && work.Feature == record.FeatureMove && capped(work.Stage) && len(record.Valid(j.Captures, record.StageCaps, record.FeatureCapBolts)) > 0
}

// specified reports whether the sheet gives a figure for a feature in a stage.
func (j Job) specified(stage, name string) bool {
	if _, ok := j.Sheet.InStage(stage).Printed(name); ok {
		return true
	}
	_, ok := j.Sheet.BoltList(name)
	return ok
}
