package logger

import (
	"slices"

	"crownlog/analysis/gum"
)

// A Job is a job sheet with what has been captured.
type Job struct {
	Sheet    Sheet
	Captures []Capture
}

// A Step is one feature in one stage of the job.
type Step struct {
	Stage, Feature string
	Title          string // "crown wheel bolts, bench"
	Done           bool   // measured at all its positions
	Verdict        gum.Verdict
	Optional       bool        // the job can be closed without it
	Measured       int         // captures that stand
	Positions      int         // captures it takes
	Caution        string      // shown at the step where it matters
	Hold           []HoldPoint // what blocks it
	Missed         bool        // not measured as found, and what came later has changed the axle
}

// stageSteps is the trade order of features in each stage.
var stageSteps = map[string][]string{
	StageAsFound: {FeaturePreloadTotal, FeatureBacklash, FeatureRunoutBackFace},
	StageBench:   {FeatureRunoutFlange, FeatureRunoutBore, FeatureWheelBolts, FeatureRunoutBackFace},
	StageSetUp:   {FeaturePreloadPinion, FeatureBacklash, FeaturePatternDrive, FeaturePatternCoast},
	StageCaps:    {FeatureCapBolts, FeatureBacklash, FeaturePreloadTotal},
	StageFinal:   {FeatureBacklash, FeatureLeakDown, FeatureEngagement, FeatureOilFill},
}

// holdsBefore names the hold points that a step waits for. Whatever comes after
// the strip waits for the as-found backlash, whichever stage is begun with.
func holdsBefore(stage, name string) []string {
	if stage == StageAsFound {
		return nil
	}
	wait := []string{HoldAsFound}
	if stage == StageSetUp {
		wait = append(wait, HoldFace)
	}
	if name == FeatureOilFill {
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
			names = []string{FeatureBacklash}
		}
		for _, name := range names {
			if Lacks(j.Sheet, name) != nil {
				continue
			}
			steps = append(steps, j.step(stage, name, holds))
		}
	}
	return steps
}

func (j Job) step(stage, name string, holds []HoldPoint) Step {
	s := Step{
		Stage: stage, Feature: name, Title: FeatureTitle(name) + ", " + stage,
		Caution: Caution(name),
	}
	a := Assess(j.Sheet, j.Captures, stage, name)
	s.Measured, s.Positions, s.Done, s.Verdict = a.Measured, a.Needed, a.Complete, a.Verdict
	s.Optional = name != FeatureBacklash && !j.specified(name)
	if stage == StageAsFound && name != FeatureBacklash {
		s.Optional = true
	}
	if pair := otherFlank(name); pair != "" && Assess(j.Sheet, j.Captures, stage, pair).Measured > 0 {
		s.Optional = false // one flank alone says too little
	}
	s.Missed = stage == StageAsFound && !s.Done && j.changedSinceFound()
	wait := holdsBefore(stage, name)
	for _, h := range holds {
		if h.Blocking && slices.Contains(wait, h.Name) {
			s.Hold = append(s.Hold, h)
		}
	}
	return s
}

// Open reports whether there is still something to do: measure it or, where it
// is outside its window, mend it and measure again. How the axle was found
// needs no mending, and what was missed then cannot be measured any more.
func (s Step) Open() bool {
	return !s.Missed && (!s.Done || s.Verdict == gum.Outside && s.Stage != StageAsFound)
}

// Next is the first step in trade order that is open and not optional, or
// measured and outside; false when none is left.
func (j Job) Next() (Step, bool) {
	for _, s := range j.Steps() {
		if s.Open() && (s.Done || !s.Optional) {
			return s, true
		}
	}
	return Step{}, false
}

// At is the stage the job is at: that of the latest capture that stands and was
// measured, or the first stage.
func (j Job) At() string {
	for _, c := range slices.Backward(Live(j.Captures)) {
		if IsMeasured(c.Feature) && j.hasStage(c.Stage) {
			return c.Stage
		}
	}
	return j.Sheet.StageList()[0]
}

// changedSinceFound reports whether something stands that was measured in a
// later stage, or moved: the axle is no longer as it was found.
func (j Job) changedSinceFound() bool {
	return slices.ContainsFunc(Live(j.Captures), func(c Capture) bool {
		return c.Feature == FeatureMove || c.Stage != StageAsFound && IsMeasured(c.Feature)
	})
}

// specified reports whether the sheet gives a figure for a feature.
func (j Job) specified(name string) bool {
	if _, ok := j.Sheet.printed(name); ok {
		return true
	}
	_, ok := j.Sheet.BoltList(name)
	return ok
}

// needed is how many captures a feature takes.
func (j Job) needed(name string) int {
	n := len(Positions(j.Sheet, name))
	if b, ok := j.Sheet.BoltList(name); ok {
		n *= len(b.Passes())
	}
	return n
}

// complete reports whether a feature is measured at all its positions.
func (j Job) complete(stage, name string) bool {
	return Assess(j.Sheet, j.Captures, stage, name).Complete
}
