package job

import (
	"fmt"
	"slices"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

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
			failed = feature.FailureOf(was)
		} else if key := [2]string{c.Stage, c.Feature}; was.ID > whole[key] {
			a := feature.Assess(s, cs[:i], c.Stage, c.Feature)
			if a.Verdict == gum.Outside && !slices.ContainsFunc(a.Results, func(r feature.Result) bool { return r.Verdict == gum.Outside }) {
				failed, whole[key], was.Position = failure(a), c.ID, 0
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
	for _, name := range essential {
		if !(Job{Sheet: s}).asks(name) {
			titles = append(titles, record.Title(name))
		}
	}
	return titles
}

// asks reports whether the sheet has a figure for a feature and a stage for it.
func (j Job) asks(name string) bool {
	return slices.ContainsFunc(j.Sheet.StageList(), func(stage string) bool {
		return stage != record.StageAsFound && j.specified(stage, name) && slices.Contains(j.stepsOf(stage), name)
	})
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
