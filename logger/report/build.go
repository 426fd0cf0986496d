package report

import (
	"fmt"
	"math"
	"slices"
	"time"

	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// Build computes the report of a job from its sheet and its captures, all of
// them in order, superseded ones too. now is the date on the report. Neither
// argument is changed.
func Build(sheet sheet.Sheet, captures []record.Capture, now time.Time) Data {
	b := builder{sheet: sheet, all: captures, live: record.Active(captures), inStage: map[string][]record.Capture{}, standing: map[place][]record.Capture{}}
	b.stages = stageOrder(sheet, captures)
	for _, c := range captures {
		if c.Feature != record.FeatureMove {
			b.inStage[c.Stage] = append(b.inStage[c.Stage], c)
			continue
		}
		for _, stage := range b.stages { // a move changes what stands in other stages too
			b.inStage[stage] = append(b.inStage[stage], c)
		}
	}
	for _, c := range b.live {
		at := place{c.Stage, c.Feature}
		b.standing[at] = append(b.standing[at], c)
	}
	b.length = Format{Unit: "mm", Decimals: resolved(sheet.Gauge.ResolutionMM, 3)}
	d := Data{Sheet: sheet, Made: now}
	for _, c := range captures { // a clock may have been set back in between
		if d.First.IsZero() || c.Time.Before(d.First) {
			d.First = c.Time
		}
		if c.Time.After(d.Last) {
			d.Last = c.Time
		}
	}
	for _, stage := range b.stages {
		b.stage(&d, stage)
	}
	d.Moves = b.moves()
	d.Changes = changes(d.Backlash)
	d.Judged = b.judge(&d)
	d.Verdict, d.Headline = overall(d.Judged)
	d.Headline = withDefaults(d.Headline, d.Judged)
	d.Holds = job.HoldPoints(sheet, captures)
	d.Remarks, d.Rejected = b.remarks()
	d.Findings = job.CheckSheet(sheet)
	d.Gauges = b.gauges()
	return d
}

// A builder holds what the parts of Build share.
type builder struct {
	sheet    sheet.Sheet
	all      []record.Capture
	live     []record.Capture
	inStage  map[string][]record.Capture // of all, by stage, with the moves of every stage
	standing map[place][]record.Capture  // of live
	stages   []string
	length   Format
}

// A place in the job is a feature in a stage.
type place struct{ stage, feature string }

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

// stage adds what one stage measured.
func (b builder) stage(d *Data, stage string) {
	if r, ok := b.round(stage); ok {
		d.Backlash = append(d.Backlash, r)
	}
	for _, f := range []string{record.FeatureRunoutFlange, record.FeatureRunoutBore, record.FeatureRunoutBackFace} {
		if r, ok := b.runout(stage, f); ok {
			d.Runouts = append(d.Runouts, r)
		}
	}
	for _, f := range []string{record.FeatureWheelBolts, record.FeatureCapBolts} {
		if c, ok := b.bolts(stage, f); ok {
			d.Bolts = append(d.Bolts, c)
		}
	}
	if p, ok := b.pattern(stage); ok {
		d.Patterns = append(d.Patterns, p)
	}
	if l, ok := b.leakDown(stage); ok {
		d.LeakDowns = append(d.LeakDowns, l)
	}
}

// of is the live captures of a feature in a stage; the caller does not change
// them.
func (b builder) of(stage, feature string) []record.Capture {
	return b.standing[place{stage, feature}]
}

// last is the newest live capture of a feature in a stage.
func (b builder) last(stage, feature string) (record.Capture, bool) {
	cs := b.of(stage, feature)
	if len(cs) == 0 {
		return record.Capture{}, false
	}
	return cs[len(cs)-1], true
}

// assess is what is known of a feature in a stage.
func (b builder) assess(stage, name string) feature.Assessment {
	return feature.Assess(b.sheet, b.inStage[stage], stage, name)
}

// round is the backlash of a stage.
func (b builder) round(stage string) (Round, bool) {
	cs := record.Valid(b.inStage[stage], stage, record.FeatureBacklash)
	if len(cs) == 0 {
		return Round{}, false
	}
	a := b.assess(stage, record.FeatureBacklash)
	r := Round{Stage: stage, Format: b.length, Round: a.Round, Spec: a.Spec, Verdict: a.Verdict, Reason: a.Reason()}
	var kept []record.Capture
	for _, p := range a.Results {
		c := p.Capture
		kept = append(kept, c)
		r.Points = append(r.Points, Point{
			Position: c.Position, AngleDeg: c.AngleDeg, Value: c.Value, U: gum.Coverage * c.U,
			Rocks: c.N, Repeatability: c.Repeatability, Quality: c.Quality, Verdict: p.Verdict,
		})
	}
	r.Terms = sheet.ConventionWords(kept)
	return r, true
}

// runout is one run-out of a stage.
func (b builder) runout(stage, feature string) (Runout, bool) {
	a := b.assess(stage, feature)
	if a.Measured == 0 {
		return Runout{}, false
	}
	nan := math.NaN()
	r := Runout{
		Stage: stage, Feature: feature, Title: record.Title(feature), Limits: a.Spec.Limits, Format: b.length,
		Runout: runout.Result{FIM: nan, FIMU: nan, ResidualSD: nan, FIMIfReseated: nan}, Verdict: a.Verdict, Reason: a.Reason(),
	}
	for _, p := range a.Results {
		c := p.Capture
		if c.Time.After(r.End) {
			r.End = c.Time
		}
		if a.Runout != nil && c.Position > 0 && !math.IsNaN(c.AngleDeg) && !math.IsNaN(c.Value) {
			r.Points = append(r.Points, RunoutPoint{c.AngleDeg, c.Value})
		}
	}
	if a.Runout != nil {
		r.Runout = *a.Runout
	}
	return r, true
}

// AddTurn adds the harmonics of a run-out measured in a continuous turn, found
// in its recorded readings. The full movement stays as it was captured.
func (d *Data) AddTurn(stage, feature string, turn runout.Result) {
	for i, r := range d.Runouts {
		if r.Stage == stage && r.Feature == feature && len(r.Points) == 0 && !turn.Refused {
			turn.FIM, turn.FIMU = r.Runout.FIM, r.Runout.FIMU
			d.Runouts[i].Runout = turn
		}
	}
}

// pattern is the contact of a stage.
func (b builder) pattern(stage string) (Pattern, bool) {
	p := Pattern{Stage: stage}
	drive, hasDrive := feature.PatternOf(b.inStage[stage], stage, record.FeaturePatternDrive)
	coast, hasCoast := feature.PatternOf(b.inStage[stage], stage, record.FeaturePatternCoast)
	if hasDrive {
		p.Drive = &drive
	}
	if hasCoast {
		p.Coast = &coast
	}
	if hasDrive && hasCoast {
		p.Advice = setup.ContactAdvice(drive, coast, b.sheet.GearSet.ToothForm, b.sheet.GearSet.PinionDepth == "free")
	}
	return p, hasDrive || hasCoast
}

// leakDown is the leak-down test of a stage.
func (b builder) leakDown(stage string) (LeakDown, bool) {
	c, ok := b.last(stage, record.FeatureLeakDown)
	if !ok {
		return LeakDown{}, false
	}
	l := LeakDown{Stage: stage, End: c.Time, Rate: c.Value, U: gum.Coverage * c.U, Limits: b.sheet.Window(record.FeatureLeakDown).Limits, Note: c.Note, Ambient: b.sheet.LeakDown.AmbientKPa}
	if l.Ambient == 0 {
		l.Ambient = leak.StandardAtmosphere
	}
	l.Verdict = b.assess(stage, record.FeatureLeakDown).Verdict
	return l, true
}

// AddLeakCurve puts the recorded pressures of a stage's leak-down test into d;
// without such a test it does nothing.
func (d *Data) AddLeakCurve(stage string, curve []leak.Sample) {
	for i := range d.LeakDowns {
		if d.LeakDowns[i].Stage == stage {
			d.LeakDowns[i].Curve = curve
		}
	}
}

// AddAttachments says of the job's attached files, as logger.CheckAttachments
// found them, whether they are what was attached.
func (d *Data) AddAttachments(checked []record.CheckedAttachment) {
	d.Attachments = checked
	for _, a := range checked {
		if a.Problem != "" {
			d.Findings = append(d.Findings, sheet.Finding{Severity: sheet.Warning, Where: a.Path, Text: "the attached file " + a.Problem})
		}
	}
}

// attachedWords says what was attached, with the beginning of its hash.
func attachedWords(c record.Capture) string {
	text := fmt.Sprintf("Attached %s (SHA-256 %s…)", c.Attachment.Path, c.Attachment.SHA256[:12])
	if c.Note != "" {
		text += ": " + c.Note
	}
	return text
}

// remarks are the overrides and notes that stand, and the rejected captures.
func (b builder) remarks() (notes, rejected []Remark) {
	stands := make(map[int]bool, len(b.live))
	for _, c := range b.live {
		stands[c.ID] = true
	}
	for _, c := range b.all {
		r := Remark{Time: c.Time, Stage: c.Stage, Text: c.NoteText()}
		switch {
		case c.Quality == record.QualityRejected:
			r.Kind, r.Text = "rejected", rejectedWords(c)
			rejected = append(rejected, r)
		case !stands[c.ID]:
		case c.Feature == record.FeatureOverride:
			r.Kind = "override"
			notes = append(notes, r)
		case c.Feature == record.FeatureNote:
			r.Kind = "note"
			if c.Attachment.Path != "" {
				r.Text = attachedWords(c)
			}
			notes = append(notes, r)
		}
	}
	return notes, rejected
}

// gauges are the labels of the gauges behind the live captures.
func (b builder) gauges() []string {
	var labels []string
	for _, c := range b.live {
		if c.Gauge != "" {
			labels = append(labels, c.Gauge)
		}
	}
	slices.Sort(labels)
	return slices.Compact(labels)
}
