package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// Build computes the report of a job from its sheet and its captures, all of
// them in order, superseded ones too. now is the date on the report. Neither
// argument is changed.
func Build(s sheet.Sheet, captures []record.Capture, now time.Time) Data {
	d := Data{Sheet: s, Made: now, Last: record.LastTime(captures), captures: captures}
	if len(captures) > 0 { // a clock may have been set back in between
		d.First = slices.MinFunc(captures, func(a, b record.Capture) int { return a.Time.Compare(b.Time) }).Time
	}
	stages := stageOrder(s, captures)
	for _, name := range record.Features() {
		for _, stage := range stages {
			// With the caps snug it only tells the advice what torquing them does.
			if m := d.measured(stage, name); m.Measured > 0 && name != record.FeatureSnug {
				d.Measured = append(d.Measured, m)
			}
		}
	}
	d.Patterns = slices.DeleteFunc(Each(stages, d.pattern), func(p Pattern) bool { return p.Flanks == [2]*setup.Contact{} })
	d.Moves = moves(s, captures)
	d.Compare(d.Same)
	d.Judged = d.judge(stages)
	d.Verdict, d.decided = overall(d.Judged)
	d.Holds, d.Lacking, d.Repeats = job.HoldPoints(s, captures), job.Lacking(s, captures), job.Repeats(s, captures)
	d.Standing = standing(d)
	d.Headline = strings.Join(append([]string{d.decided}, d.Standing...), ". ")
	d.Findings = job.CheckSheet(s)
	d.remarks()
	return d
}

// stageOrder is the sheet's stages and after them any other in the captures.
func stageOrder(s sheet.Sheet, captures []record.Capture) []string {
	stages := slices.Clone(s.StageList())
	for _, c := range captures {
		if c.Stage != "" && !slices.Contains(stages, c.Stage) {
			stages = append(stages, c.Stage)
		}
	}
	return stages
}

// pattern is the contact of a stage.
func (d Data) pattern(stage string) Pattern {
	p := Pattern{Stage: stage}
	for i, flank := range flanks {
		if c, ok := feature.PatternOf(d.captures, stage, flank); ok {
			p.Flanks[i] = &c
		}
	}
	p.Advice, _ = feature.ContactAdvice(d.Sheet, d.captures, stage)
	return p
}

// AddAttachments says of the job's attached files, as the journal found them,
// whether they are what was attached.
func (d *Data) AddAttachments(checked []record.CheckedAttachment) {
	sound := len(checked)
	for _, a := range checked {
		if a.Problem != "" {
			d.Findings = append(d.Findings, sheet.Finding{Severity: sheet.Warning, Where: a.Path, Text: "the attached file " + a.Problem})
			sound--
		}
	}
	const agree = "Attached files that agree with their SHA-256 of when they were attached: %d of %d."
	d.attached = given(len(checked) > 0, fmt.Sprintf(agree, sound, len(checked)))
}

// moves lists the adjuster moves that stand with the mean backlash before and
// after, what was expected of them, and what came of it. Moves made one after
// the other share the figures: the first has what was before, the last what
// came after.
func moves(s sheet.Sheet, captures []record.Capture) []Move {
	var moves []Move
	nan, net := math.NaN(), 0.0
	for _, res := range job.MoveHistory(s, captures) {
		for i, c := range res.Recorded {
			if !math.IsNaN(c.Value) { // of a line that was lost
				net += c.Value
			}
			m := Move{Capture: c, Net: net, Before: nan, After: nan, Expected: nan, ExpectedU: nan}
			if i == 0 {
				m.Before = res.Move.Before
			}
			if i == len(res.Recorded)-1 {
				m.After, m.Expected, m.ExpectedU = res.Move.After, res.Advised, gum.Coverage*res.U
			}
			moves = append(moves, m)
		}
	}
	return moves
}

// remarks finds the overrides and notes that stand, the rejected captures, and who
// entered something by which gauge.
func (d *Data) remarks() {
	active := record.Active(d.captures)
	for _, c := range active {
		if slices.Contains([]string{record.FeatureOverride, record.FeatureNote, record.FeatureCheck}, c.Feature) {
			d.Remarks = append(d.Remarks, Remark{c.Time.UTC(), c.Stage, c.Feature, noteWords(c)})
		}
	}
	for _, c := range d.captures {
		if c.Quality == record.QualityRejected {
			d.Rejected = append(d.Rejected, Remark{c.Time.UTC(), c.Stage, c.Quality, rejectedWords(c)})
		}
	}
	told := func(names []string) []string {
		return slices.Compact(slices.Sorted(slices.Values(dropEmpty(names...))))
	}
	d.Gauges = told(Each(active, func(c record.Capture) string { return c.Gauge }))
	d.people = told(append(Each(active, func(c record.Capture) string { return c.By }), d.Sheet.Vehicle.Operator))
}

// noteWords is a note, with what was attached and the beginning of its hash.
func noteWords(c record.Capture) string {
	if c.Attachment.Path == "" {
		return c.NoteText()
	}
	return record.Fronted(fmt.Sprintf("Attached %s (SHA-256 %s…)", c.Attachment.Path, c.Attachment.SHA256[:12]), ": ", c.Note)
}

// rejectedWords says what was measured and set aside.
func rejectedWords(c record.Capture) string {
	note := c.NoteText()
	return record.Title(c.Feature) + given(c.Position > 0, fmt.Sprintf(", position %d", c.Position)) +
		given(!math.IsNaN(c.Value), ": "+Format{c.Unit, 3}.quantity(c.Value)) + given(note != "", " ("+note+")")
}
