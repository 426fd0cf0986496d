package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
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
	b := builder{sheet: sheet, all: captures, active: record.Active(captures)}
	b.stages = stageOrder(sheet, captures)
	d := Data{Sheet: sheet, Made: now, Last: record.LastTime(captures)}
	for _, c := range captures {
		// A clock may have been set back in between.
		if d.First.IsZero() || c.Time.Before(d.First) {
			d.First = c.Time
		}
	}
	for _, stage := range b.stages {
		b.stage(&d, stage)
	}
	d.Moves = b.moves()
	d.Compare(d.Same)
	d.Judged = b.judge(&d)
	d.Verdict, d.Headline = overall(d.Judged)
	d.Holds, d.Lacking, d.Repeats = job.HoldPoints(sheet, captures), job.Lacking(sheet, captures), job.Repeats(sheet, captures)
	d.Standing = standing(d)
	d.Headline = strings.Join(append([]string{d.Headline}, d.Standing...), ". ")
	d.Remarks, d.Rejected = b.remarks()
	d.Findings = job.CheckSheet(sheet)
	d.Gauges = b.told(func(c record.Capture) string { return c.Gauge })
	d.people = b.told(func(c record.Capture) string { return c.By })
	return d
}

// A builder holds what the parts of Build share.
type builder struct {
	sheet  sheet.Sheet
	all    []record.Capture
	active []record.Capture
	stages []string
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

// stage adds what one stage measured.
func (b builder) stage(d *Data, stage string) {
	if m, ok := b.measured(stage, record.FeatureBacklash); ok {
		d.Backlash = append(d.Backlash, Round{Measured: m, Convention: sheet.ConventionWords(m.captures())})
	}
	for _, f := range []string{record.FeatureRunoutFlange, record.FeatureRunoutBore, record.FeatureRunoutBackFace} {
		if m, ok := b.measured(stage, f); ok {
			d.Runouts = append(d.Runouts, newRunout(m))
		}
	}
	for _, f := range []string{record.FeatureWheelBolts, record.FeatureCapBolts} {
		list, known := b.sheet.BoltList(f)
		if m, ok := b.measured(stage, f); ok && known && list.Count >= 1 {
			d.Bolts = append(d.Bolts, b.bolts(m, list))
		}
	}
	if p, ok := b.pattern(stage); ok {
		d.Patterns = append(d.Patterns, p)
	}
	if m, ok := b.measured(stage, record.FeatureLeakDown); ok {
		d.LeakDowns = append(d.LeakDowns, LeakDown{Measured: m, Ambient: cmp.Or(b.sheet.LeakDown.AmbientKPa, leak.StandardAtmosphere)})
	}
}

// measured is what is known of a feature in a stage; false: nothing.
func (b builder) measured(stage, name string) (Measured, bool) {
	m := Measured{Assessment: feature.Assess(b.sheet, b.all, stage, name), Format: b.format(name)}
	return m, m.Measured > 0
}

// format writes the figures of a feature: lengths as the gauge resolves them.
func (b builder) format(name string) Format {
	unit, _ := record.UnitOf(name)
	switch {
	case unit == "mm":
		return millimetres(b.sheet)
	case name == record.FeatureWheelBolts, name == record.FeatureCapBolts:
		return Format{unit, 1}
	}
	return Format{unit, 2}
}

func newRunout(m Measured) Runout {
	r := Runout{Measured: m, End: record.LastTime(m.captures())}
	for _, c := range m.captures() {
		if m.Runout != nil && c.Position > 0 && !math.IsNaN(c.AngleDeg) && !math.IsNaN(c.Value) {
			r.Points = append(r.Points, c)
		}
	}
	if m.Runout == nil {
		nan := math.NaN()
		r.Runout = &runout.Result{FIM: nan, FIMU: nan, ResidualSD: nan, FIMIfReseated: nan}
	}
	return r
}

// bolts puts the final pulls into the order of the sequence.
func (b builder) bolts(m Measured, list sheet.BoltList) BoltCircle {
	pulls, final := make(map[int]int), make(map[int]feature.Result)
	for _, c := range record.Valid(b.all, m.Stage, m.Feature) {
		pulls[c.Position]++
	}
	for _, r := range m.Results {
		final[r.Capture.Position] = r
	}
	circle := BoltCircle{Measured: m, List: list}
	for _, number := range list.Order() {
		r, ok := final[number]
		if !ok {
			r.Capture.Value, r.Capture.U = math.NaN(), math.NaN()
		}
		circle.Bolts = append(circle.Bolts, Bolt{Result: r, Number: number, Pulls: pulls[number]})
	}
	return circle
}

// AddTurn adds the harmonics of a run-out measured in a continuous turn, found
// in its recorded readings. The full movement stays as it was captured.
func (d *Data) AddTurn(stage, feature string, turn runout.Result) {
	for i, r := range d.Runouts {
		if r.Stage == stage && r.Feature == feature && len(r.Points) == 0 && !turn.Refused {
			turn.FIM, turn.FIMU = r.Runout.FIM, r.Runout.FIMU
			d.Runouts[i].Runout = &turn
		}
	}
}

// pattern is the contact of a stage.
func (b builder) pattern(stage string) (Pattern, bool) {
	contact := func(flank string) *setup.Contact {
		if c, ok := feature.PatternOf(b.all, stage, flank); ok {
			return &c
		}
		return nil
	}
	p := Pattern{Stage: stage, Drive: contact(record.FeaturePatternDrive), Coast: contact(record.FeaturePatternCoast)}
	p.Advice, _ = feature.ContactAdvice(b.sheet, b.all, stage)
	return p, p.Drive != nil || p.Coast != nil
}

// AddAttachments says of the job's attached files, as the journal found them,
// whether they are what was attached.
func (d *Data) AddAttachments(checked []record.CheckedAttachment) {
	d.Attachments = checked
	for _, a := range checked {
		if a.Problem != "" {
			d.Findings = append(d.Findings, sheet.Finding{Severity: sheet.Warning, Where: a.Path, Text: "the attached file " + a.Problem})
		}
	}
}

// moves lists the adjuster moves that stand with the mean backlash before and
// after, what was expected of them, and what came of it. Moves made one after
// the other share the figures: the first has what was before, the last what
// came after.
func (b builder) moves() []Move {
	var moves []Move
	nan, net := math.NaN(), 0.0
	for _, res := range job.MoveHistory(b.sheet, b.all) {
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

// remarks are the overrides and notes that stand, and the rejected captures.
func (b builder) remarks() (notes, rejected []Remark) {
	for _, c := range b.active {
		if slices.Contains([]string{record.FeatureOverride, record.FeatureNote, record.FeatureCheck}, c.Feature) {
			notes = append(notes, Remark{Time: c.Time, Stage: c.Stage, Kind: c.Feature, Text: noteWords(c)})
		}
	}
	for _, c := range b.all {
		if c.Quality == record.QualityRejected {
			rejected = append(rejected, Remark{Time: c.Time, Stage: c.Stage, Kind: c.Quality, Text: rejectedWords(c)})
		}
	}
	return notes, rejected
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
	what := record.Title(c.Feature)
	if c.Position > 0 {
		what += fmt.Sprintf(", position %d", c.Position)
	}
	if !math.IsNaN(c.Value) {
		what += ": " + Format{c.Unit, 3}.quantity(c.Value)
	}
	if note := c.NoteText(); note != "" {
		what += " (" + note + ")"
	}
	return what
}

// told are the different texts that f gives of the active captures, sorted.
func (b builder) told(f func(record.Capture) string) []string {
	texts := dropEmpty(each(b.active, f)...)
	slices.Sort(texts)
	return slices.Compact(texts)
}
