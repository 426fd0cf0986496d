package job

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// The hold points, in trade order.
const (
	HoldAsFound = "as-found-backlash" // before the strip
	HoldFace    = "back-face"         // before backlash is set
	HoldRecheck = "backlash-recheck"  // before closing: after the caps and locks
	HoldAir     = "air-test"          // before closing
)

// A HoldPoint is a place in the job where going on needs something first. It
// may be overridden with a reason, which is recorded.
type HoldPoint struct {
	Name       string `json:"name"`       // one of the words above
	Before     string `json:"before"`     // what has to wait, "the strip"
	Reason     string `json:"reason"`     // why it holds, or why it no longer does; one sentence
	Blocking   bool   `json:"blocking"`   // still open and not overridden
	Overridden string `json:"overridden"` // the recorded reason; "" if none
}

// HoldPoints lists the hold points of a job in trade order, open or not.
func HoldPoints(s sheet.Sheet, cs []record.Capture) []HoldPoint {
	j := Job{Sheet: s, Captures: cs}
	points := []HoldPoint{
		j.hold(HoldAsFound, "the strip", j.asFoundOpen()),
		j.hold(HoldFace, "setting the backlash", j.faceOpen()),
		j.hold(HoldRecheck, "closing up", j.recheckOpen()),
	}
	if _, ok := s.Printed(record.FeatureLeakDown); ok {
		points = append(points, j.hold(HoldAir, "closing up", j.airOpen()))
	}
	return points
}

// hold makes a hold point; open says why it holds, "" that it does not.
func (j Job) hold(name, before, open string) HoldPoint {
	h := HoldPoint{Name: name, Before: before, Reason: cmp.Or(open, "cleared"), Blocking: open != ""}
	for _, c := range record.Active(j.Captures) {
		if c.Feature == record.FeatureOverride && c.Hold == name {
			h.Overridden, h.Blocking = c.Note, false
		}
	}
	return h
}

// asFoundOpen: a used gear goes back to its as-found backlash, so it must be
// known before anything is taken apart.
func (j Job) asFoundOpen() string {
	if !j.hasStage(record.StageAsFound) || feature.Assess(j.Sheet, j.Captures, record.StageAsFound, record.FeatureBacklash).Complete {
		return ""
	}
	if j.changedSinceFound() {
		return "The as-found backlash was not measured all round, and cannot be any more: a later stage has begun. Go on by an override that says why."
	}
	return "Do not strip yet: the as-found backlash is not measured all round."
}

// faceOpen: a tilted crown wheel makes the backlash of every position wrong.
func (j Job) faceOpen() string {
	if _, ok := j.Sheet.Printed(record.FeatureRunoutBackFace); !ok || !j.hasStage(record.StageBench) {
		return ""
	}
	face := feature.Assess(j.Sheet, j.Captures, record.StageBench, record.FeatureRunoutBackFace)
	limits := face.Spec.Limits
	switch {
	case face.Verdict == gum.Outside:
		return fmt.Sprintf("Do not set the backlash yet: the back face runs out %.3f mm, beyond %.3f.", face.Value, limits.Upper)
	case !face.Complete:
		return "Do not set the backlash yet: the back face is not measured."
	case face.Verdict == gum.Inside, !limits.Any():
		return ""
	case face.InDoubt():
		return fmt.Sprintf("Do not set the backlash yet: the back face is not decided, %s.", face.Reason())
	}
	return fmt.Sprintf("Do not set the backlash yet: the back face runs out %.3f mm, %s.", face.Value, unproven(face.U, limits))
}

// unproven says why a value that is neither proven inside nor outside is not
// good enough. Where the gauge cannot prove anything, only an override helps.
func unproven(u float64, limits gum.Limits) string {
	_, decidable := gum.Capability(limits, u)
	switch {
	case !(u > 0):
		return "and its uncertainty is not known, so that nothing is proven"
	case !decidable:
		return "and the gauge is too coarse for this window to prove it inside"
	}
	return "which is too close to call"
}

// recheckOpen: torquing the caps shifts the backlash by hundredths, and teeth
// that do not meet as they should are not closed up.
func (j Job) recheckOpen() string {
	if why := j.contactOpen(); why != "" {
		return why
	}
	stage := j.lastStageOf(record.StageFinal, record.StageCaps)
	if stage == "" {
		return ""
	}
	a := feature.Assess(j.Sheet, j.Captures, stage, record.FeatureBacklash)
	if !a.Complete && a.Verdict != gum.Outside {
		return fmt.Sprintf("Do not close up yet: the backlash is not re-checked after the caps and locks (stage %s).", stage)
	}
	switch {
	case a.Verdict == gum.Inside, a.Verdict == gum.NotDecided && !a.Spec.Limits.Any():
		return ""
	case a.Verdict == gum.Outside:
		return "Do not close up yet: the backlash after the caps is outside the window."
	case a.Verdict == gum.TooClose:
		return fmt.Sprintf("Do not close up yet: the backlash after the caps is not proven inside the window, %s.",
			unproven(math.Max(a.Round.Tightest.U, a.Round.Loosest.U), a.Spec.Limits))
	}
	return fmt.Sprintf("Do not close up yet: the backlash after the caps is not decided, %s.", strings.TrimSuffix(a.Reason(), "."))
}

// contactOpen says why the contact pattern forbids closing up; "" that it does
// not. The latest stage with both flanks counts.
func (j Job) contactOpen() string {
	why := ""
	for _, stage := range j.Sheet.StageList() {
		if a, ok := feature.ContactAdvice(j.Sheet, j.Captures, stage); ok {
			if why = ""; a.Stop {
				why = "Do not close up yet: the contact pattern, " + stage + ", says stop. " + words.Contact(a)
			}
		}
	}
	return why
}

// airOpen: the air line can only be reached while the housing is open.
func (j Job) airOpen() string {
	stage, ok := latestStage(j.Captures, func(c record.Capture) bool { return c.Feature == record.FeatureLeakDown })
	if !ok {
		return "Do not close up yet: the air test is not made."
	}
	a := feature.Assess(j.Sheet, j.Captures, stage, record.FeatureLeakDown)
	limits := a.Spec.Limits
	switch {
	case a.Verdict == gum.Inside, !limits.Any():
		return ""
	case a.Verdict == gum.Outside:
		return fmt.Sprintf("Do not close up yet: the air line loses %.2f kPa/min, more than %.2f.", a.Value, limits.Upper)
	}
	return fmt.Sprintf("Do not close up yet: the air line loses %.2f kPa/min, %s.", a.Value, unproven(a.U, limits))
}

func (j Job) hasStage(stage string) bool { return slices.Contains(j.Sheet.StageList(), stage) }

// lastStageOf is the first of the stages that the sheet has.
func (j Job) lastStageOf(stages ...string) string {
	for _, s := range stages {
		if j.hasStage(s) {
			return s
		}
	}
	return ""
}
