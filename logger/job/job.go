// Package job puts the rounds of one axle in order: which step comes next, what
// holds it up, what a finished round means together with the others, and how the
// adjusters are to be moved. It judges nothing by itself: see feature.Assess.
package job

import (
	"cmp"
	"slices"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/journal"
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
	measured := func(c record.Capture) bool { return record.IsMeasured(c.Feature) && j.hasStage(c.Stage) }
	return cmp.Or(latestStage(j.Captures, measured), j.Sheet.StageList()[0])
}

// latestStage is the stage of the latest capture that stands and is wanted; ""
// without one.
func latestStage(cs []record.Capture, wanted func(record.Capture) bool) string {
	for _, c := range slices.Backward(record.Active(cs)) {
		if wanted(c) {
			return c.Stage
		}
	}
	return ""
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

// A Folder is a job open for writing: its folder, and its sheet as it was
// when the folder was opened.
type Folder struct {
	*journal.Folder
	sheet sheet.Sheet
}

// Sheet is the job sheet as it was when the folder was opened.
func (f *Folder) Sheet() sheet.Sheet { return f.sheet }

// Create makes dir a job folder with the given job sheet and opens it. dir
// may exist when it is empty.
func Create(dir string, sheetTOML []byte) (*Folder, error) {
	if _, err := sheet.Parse(journal.SheetFile, sheetTOML); err != nil {
		return nil, err
	}
	if err := journal.Create(dir, sheetTOML); err != nil {
		return nil, err
	}
	return Open(dir)
}

// Open opens an existing job for writing. It fails as LoadSheet and
// OpenFolder do; the sheet is read first, so that a job of a newer crownlog is
// left alone.
func Open(dir string) (*Folder, error) {
	var s sheet.Sheet
	folder, err := journal.Open(dir, into(&s))
	if err != nil {
		return nil, err
	}
	folder.Sign(s.Vehicle.Operator)
	return &Folder{folder, s}, nil
}

// A Snapshot is a job as a reader sees it at one moment.
type Snapshot struct {
	*journal.Snapshot
	Sheet sheet.Sheet
}

// Read reads a job without its lock and changes nothing in it, so it may be
// called while a writer runs. It fails as OpenJob does.
func Read(dir string) (*Snapshot, error) {
	var s sheet.Sheet
	snap, err := journal.Read(dir, into(&s))
	if err != nil {
		return nil, err
	}
	return &Snapshot{snap, s}, nil
}

// ExamineJob reads the captures.csv of a job line by line: see Examine. It fails
// as LoadSheet does, too.
func ExamineJob(dir string) (journal.Repair, error) { return repaired(dir, journal.Examine) }

// SetJobAside keeps a damaged captures.csv under another name and puts one in its
// place that goes on with the sound lines: see SetAside. It fails as LoadSheet
// does, too.
func SetJobAside(dir string) (journal.Repair, error) { return repaired(dir, journal.SetAside) }

func repaired(dir string, repair func(dir, stage string) (journal.Repair, error)) (journal.Repair, error) {
	var s sheet.Sheet
	if _, err := journal.SheetOf(dir, into(&s)); err != nil {
		return journal.Repair{}, err
	}
	return repair(dir, stageOfMoves(s))
}

// into makes the check of a sheet file that leaves the sheet in s.
func into(s *sheet.Sheet) journal.CheckSheet {
	return func(path string, text []byte) (err error) {
		*s, err = sheet.Parse(path, text)
		return err
	}
}

// stageOfMoves is the stage in which the backlash is set, or else the first that
// is not as found.
func stageOfMoves(s sheet.Sheet) string {
	stages := s.StageList()
	if slices.Contains(stages, record.StageSetUp) {
		return record.StageSetUp
	}
	return stages[max(0, slices.IndexFunc(stages, func(s string) bool { return s != record.StageAsFound }))]
}
