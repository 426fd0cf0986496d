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
)

// The hold points with a name of their own, in trade order. That of any other
// step is its stage and its feature: "bench-bolt-torque-crown-wheel".
const (
	HoldAsFound = "as-found-backlash" // before the strip
	HoldAim     = "backlash-aim"      // before the backlash is set: what a used set found beyond the window aims at
	HoldFace    = "back-face"         // before the backlash is set, and before closing up
	HoldRecheck = "backlash-recheck"  // before closing up: after the caps and locks
	HoldAir     = "air-test"          // before closing up
)

// holdNames are the names of their own by stage and feature.
var holdNames = map[[2]string]string{
	{record.StageBench, record.FeatureRunoutBackFace}: HoldFace,
	{record.StageFinal, record.FeatureBacklash}:       HoldRecheck,
	{record.StageFinal, record.FeatureLeakDown}:       HoldAir,
}

// What has to wait for a hold point.
const (
	beforeMeasuring = "measuring"
	beforeStrip     = "the strip"
	beforeLocker    = "the locker and the new bolts"
	beforeSetting   = "setting the backlash"
	beforeClosing   = "closing up"
	beforeOil       = "the oil"
)

// notYet says what is not to be done before a hold point is cleared.
var notYet = map[string]string{
	beforeMeasuring: "measure", beforeStrip: "strip", beforeLocker: "put locker and new bolts in", beforeSetting: "set the backlash",
	beforeClosing: "close up", beforeOil: "fill the oil in",
}

// A HoldPoint is a place in the job where going on needs something first. It
// may be skipped with a reason, which is recorded.
type HoldPoint struct {
	Name     string `json:"name"`     // see HoldAsFound
	Stage    string `json:"stage"`    // of the step it asks for
	Feature  string `json:"feature"`  // of that
	Before   string `json:"before"`   // what has to wait, "the strip"
	Reason   string `json:"reason"`   // why it holds, or why it no longer does; one sentence
	Blocking bool   `json:"blocking"` // still open and not skipped
	Skipped  string `json:"skipped"`  // the recorded reason for going on all the same; "" if none, or it needs none any more

	Unticked []Check `json:"-"` // what of a list is required and not ticked; not that copied windows are confirmed, which takes more than a tick
}

// HoldPoints lists the hold points of a job in trade order, open or not: that
// of the as-found backlash, those of the lists, that of the aim where it has to be
// decided, and one for each step of the sheet that the job cannot be closed without.
func HoldPoints(s sheet.Sheet, cs []record.Capture) []HoldPoint {
	j := Job{Sheet: s, Captures: cs}
	points := append([]HoldPoint{j.asFoundHold()}, j.listHolds()...)
	if _, beyond := j.foundMean(); beyond {
		points = append(points, j.aimHold())
	}
	closed := j.closingStage()
	for i, stage := range s.StageList() {
		for _, name := range j.stepsOf(stage) {
			before := beforeClosing
			switch {
			case feature.Lacks(s, name) != nil, !j.required(stage, name), stage == record.StageAsFound:
				continue
			case stage == record.StageFitUp && name == record.FeatureRunoutBackFace:
				before = beforeLocker
			case stage == record.StageSetUp && name == record.FeatureBacklash:
				continue // it counts as it is after the caps
			case name == record.FeatureRunoutBackFace:
				before = beforeSetting
			case name == record.FeatureCloseUp:
				before = beforeOil
			case name == record.FeatureOilFill, i > closed:
				continue
			}
			points = append(points, j.hold(stage, name, before))
		}
	}
	return points
}

// InTheWay lists the hold points that block something now: all but those of steps
// before closing up whose turn has not come. next is the step that comes next.
func InTheWay(holds []HoldPoint, next Step) []HoldPoint {
	return slices.DeleteFunc(slices.Clone(holds), func(h HoldPoint) bool {
		turn := h.Stage == next.Stage && h.Feature == next.Feature || waitsFor(next.Stage, next.Feature, h.Before)
		return !h.Blocking || !turn && (h.Before == beforeClosing || h.Before == beforeOil)
	})
}

// closingStage is the index of the stage in which the axle is closed up: the
// last one of the trade that the sheet has; -1 without one.
func (j Job) closingStage() int {
	if i := slices.Index(j.Sheet.StageList(), record.StageFinal); i >= 0 {
		return i
	}
	return slices.Index(j.Sheet.StageList(), record.StageCaps)
}

// hold is the hold point of a step. What was skipped blocks again once it is
// measured and has failed, which the reason knew nothing of.
func (j Job) hold(stage, name, before string) HoldPoint {
	a := feature.Assess(j.Sheet, j.Captures, stage, name)
	h := HoldPoint{Name: cmp.Or(holdNames[[2]string{stage, name}], stage+"-"+name), Stage: stage, Feature: name, Before: before}
	open := ""
	if why := stillOpen(j.Sheet, a); why != "" && !(before == beforeLocker && j.wheelBolted()) {
		open = fmt.Sprintf("Do not %s yet: %s, %s: %s.", notYet[before], record.Title(name), a.Stage, strings.TrimSuffix(why, "."))
	}
	return j.skipped(h, open, a)
}

// asFoundHold: a used gear goes back to its as-found backlash, so it must be
// known before anything is taken apart.
func (j Job) asFoundHold() HoldPoint {
	open := ""
	switch {
	case !j.hasStage(record.StageAsFound), feature.Assess(j.Sheet, j.Captures, record.StageAsFound, record.FeatureBacklash).Complete:
	case j.changedSinceFound():
		open = "The as-found backlash was not measured all round, and cannot be any more: a later stage has begun. Skip it with a reason that says why."
	default:
		open = "Do not strip yet: the as-found backlash is not measured all round."
	}
	h := HoldPoint{Name: HoldAsFound, Stage: record.StageAsFound, Feature: record.FeatureBacklash, Before: beforeStrip}
	return j.skipped(h, open, feature.Assessment{})
}

// skipped completes a hold point with why it is open, "" that it is not, and
// with the reason it was skipped for, unless it failed by a later capture.
func (j Job) skipped(h HoldPoint, open string, a feature.Assessment) HoldPoint {
	h.Reason, h.Blocking = cmp.Or(open, "cleared"), open != ""
	for _, c := range record.Active(j.Captures) {
		failed := a.Verdict == gum.Outside && slices.ContainsFunc(a.Results, func(r feature.Result) bool { return r.Capture.ID > c.ID })
		if open != "" && c.Feature == record.FeatureOverride && c.Hold == h.Name && !failed {
			h.Skipped, h.Blocking = c.Note, false
		}
	}
	return h
}

// mustBeProven are the features of which it is not enough that nothing is known
// to be outside. A wrench and a spring scale seldom prove their window.
var mustBeProven = []string{record.FeatureBacklash, record.FeatureRunoutBackFace, record.FeatureLeakDown}

// stillOpen says why a step is not good enough to go on from; "" that it is.
func stillOpen(s sheet.Sheet, a feature.Assessment) string {
	switch {
	case a.Verdict == gum.Outside, !a.Complete, a.ProvesNothing(), a.ReadOutside():
		return failure(s, a)
	case a.Verdict == gum.Inside, !slices.Contains(mustBeProven, a.Feature):
		return ""
	case a.Verdict == gum.TooClose:
		return strings.TrimSuffix("not proven inside the window, which is too close to call. "+a.Decides(), ". ")
	case !a.Spec.Limits.Any():
		return ""
	}
	return "not decided, " + a.Reason()
}

// failure says what is wrong with a step: of a feature with one value the value.
func failure(s sheet.Sheet, a feature.Assessment) string {
	one := a.Runout != nil && a.Verdict == gum.Outside || len(a.Results) == 1 && a.Needed == 1 && !a.ProvesNothing()
	switch {
	case a.Measured == 0 && !a.Stale():
		return "not measured"
	case one && !math.IsNaN(a.Value):
		return feature.Amount(s, a.Feature, a.Value) + " is outside the entered window"
	}
	return a.Reason()
}

func (j Job) hasStage(stage string) bool { return slices.Contains(j.Sheet.StageList(), stage) }

// A Repeat is something that was outside or failed and does not stand any more:
// it was measured again, or taken back, with no work on the axle between.
type Repeat struct {
	record.Capture        // the last of it; Feature and Stage are the round's
	Text           string // "cycle 3: did not lock; repeated"
}

// Repeats lists what failed and was repeated, in the order it was measured. A
// round that failed as a whole, such as a run-out, is one of them.
func Repeats(s sheet.Sheet, cs []record.Capture) []Repeat {
	var repeats []Repeat
	whole := make(map[[2]string]int) // line at which the round was begun anew
	for i, c := range cs {
		if c.Supersedes < 1 || !record.IsMeasured(c.Feature) {
			continue
		}
		was, how := cs[c.Supersedes-1], "repeated"
		if was.Quality == record.QualityRejected && was.Supersedes > 0 { // it was taken back before
			was = cs[was.Supersedes-1]
		}
		if c.Quality == record.QualityRejected {
			how = "taken back"
		}
		if work, _ := record.StaleSince(cs[:i], c.Stage, c.Feature); work.ID > was.ID {
			continue
		}
		if k := slices.IndexFunc(repeats, func(r Repeat) bool { return r.ID == was.ID }); k >= 0 {
			repeats[k].Text = strings.Replace(repeats[k].Text, "; taken back", "; "+how, 1)
			continue
		}
		failed := ""
		if verdict, _, judged := feature.NewJudge(s.InStage(c.Stage), c.Feature).Decide(was); judged && verdict == gum.Outside {
			failed = feature.FailureOf(s, was)
		} else if key := [2]string{c.Stage, c.Feature}; was.ID > whole[key] {
			a := feature.Assess(s, cs[:i], c.Stage, c.Feature)
			if a.Verdict == gum.Outside && !slices.ContainsFunc(a.Results, func(r feature.Result) bool { return r.Verdict == gum.Outside }) {
				failed, whole[key], was.Position = failure(s, a), c.ID, 0
			}
		}
		if failed != "" {
			repeats = append(repeats, Repeat{was, failed + "; " + how})
		}
	}
	slices.SortStableFunc(repeats, func(a, b Repeat) int { return a.ID - b.ID })
	return repeats
}

// Titles names the features that of finds in a list, each once: see shortTitle.
func Titles[T any](list []T, of func(T) (stage, name string)) (titles []string) {
	for _, v := range list {
		if title := shortTitle(of(v)); !slices.Contains(titles, title) {
			titles = append(titles, title)
		}
	}
	return titles
}

// At is where the step is that a hold point asks for; of a list its name.
func (h HoldPoint) At() (stage, name string) {
	if h.Feature == record.FeatureCheck {
		return h.Name, h.Feature
	}
	return h.Stage, h.Feature
}

// At is where a step is: its stage and its feature.
func (s Step) At() (stage, name string) { return s.Stage, s.Feature }

// Lacking lists the steps that the job cannot be closed without and that are not
// measured to the end, in trade order, without those that were skipped.
func Lacking(s sheet.Sheet, cs []record.Capture) []Step {
	return slices.DeleteFunc(Job{Sheet: s, Captures: cs}.Steps(), func(step Step) bool {
		return step.Optional || step.Complete || step.Skipped != "" ||
			step.Missed && step.Stage == record.StageFitUp && step.Feature == record.FeatureRunoutBackFace // the one on its bolts stands for it
	})
}

// essential is what every axle is put together with, whatever its sheet says.
var essential = []string{record.FeatureWheelBolts, record.FeatureRunoutBackFace, record.FeatureCapBolts, record.FeaturePreloadTotal}

// Unasked lists what every axle is put together with and the sheet has no figure
// or no stage for, so that nothing waits for it.
func Unasked(s sheet.Sheet) (titles []string) {
	j := Job{Sheet: s}
	for _, name := range essential {
		if !slices.ContainsFunc(s.StageList(), func(stage string) bool {
			return stage != record.StageAsFound && j.specified(stage, name) && slices.Contains(j.stepsOf(stage), name)
		}) {
			titles = append(titles, record.Title(name))
		}
	}
	return titles
}

// shortTitle names a feature, a backlash with its stage, for that of another does
// not stand in for it.
func shortTitle(stage, name string) string {
	switch {
	case name == record.FeatureBacklash:
		return fmt.Sprintf("%s (%s)", record.Title(name), stage)
	case name == record.FeatureCheck:
		return strings.ReplaceAll(stage, "-", " ")
	case record.IsPattern(name):
		return "contact pattern"
	}
	return record.Title(name)
}
