package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// judge is the summary: each feature at the latest stage it was measured in.
func (b builder) judge(d *Data) []Judged {
	var lines []Judged
	if stage, moved := b.awaited(d.Backlash); moved {
		lines = append(lines, awaited(stage, b.length, b.sheet.Window(record.FeatureBacklash).Limits))
	} else if n := len(d.Backlash); n > 0 {
		lines = append(lines, judgeRound(d.Backlash[n-1]))
	}
	for i, r := range d.Runouts {
		if !slices.ContainsFunc(d.Runouts[i+1:], func(o Runout) bool { return o.Feature == r.Feature }) {
			lines = append(lines, judgeRunout(r))
		}
	}
	for i, c := range d.Bolts {
		if !slices.ContainsFunc(d.Bolts[i+1:], func(o BoltCircle) bool { return o.Feature == c.Feature }) {
			lines = append(lines, judgeBolts(c))
		}
	}
	whole := []struct {
		feature string
		format  Format
	}{
		{record.FeaturePreloadPinion, Format{"N·m", 2}},
		{record.FeaturePreloadTotal, Format{"N·m", 2}},
		{record.FeatureLeakDown, rateFormat},
		{record.FeatureOilFill, Format{"L", 2}},
		{record.FeatureEngagement, Format{"s", 2}},
	}
	for _, w := range whole {
		if j, ok := b.judgeWhole(w.feature, w.format); ok {
			lines = append(lines, j)
		}
	}
	for _, f := range flanks {
		if j, ok := b.judgeFlank(f); ok {
			lines = append(lines, j)
		}
	}
	for i, j := range lines {
		if j.Verdict == gum.TooClose && j.Feature != record.FeatureBacklash {
			lines[i].Reason = whyTooClose(j)
		}
		lines[i].Default = isDefault(b.sheet, j.Feature)
		lines[i].Conclusion = job.Conclusion(b.sheet, b.all, j.Stage, j.Feature)
	}
	return lines
}

// awaited is the stage whose backlash is out of date since an adjuster move:
// the latest that a move emptied, if none later stands, or else the one of a
// move after everything that was measured. An older stage does not stand in.
func (b builder) awaited(rounds []Round) (stage string, moved bool) {
	latest := -1
	if n := len(rounds); n > 0 {
		latest = slices.Index(b.stages, rounds[n-1].Stage)
	}
	for i, stage := range slices.Backward(b.stages) {
		if i > latest && record.EmptiedByMove(b.inStage[stage], stage, record.FeatureBacklash) {
			return stage, true
		}
	}
	last := 0
	for _, c := range b.live {
		switch c.Feature {
		case record.FeatureMove:
			stage, moved = c.Stage, true
		case record.FeatureBacklash:
			last, moved = c.ID, false
		}
	}
	return stage, moved && last > 0
}

// awaited is the line of a backlash that has to be measured again.
func awaited(stage string, f Format, limits gum.Limits) Judged {
	return Judged{
		Stage: stage, Feature: record.FeatureBacklash, Title: record.Title(record.FeatureBacklash),
		Value: math.NaN(), U: math.NaN(), Format: f, Text: "not re-measured since the adjusters were moved",
		Limits: limits, Verdict: gum.NotDecided, Reason: "the adjusters were moved after it was measured",
	}
}

// whyTooClose says what keeps a value from being decided.
func whyTooClose(j Judged) string {
	if _, decidable := gum.Capability(j.Limits, j.U/gum.Coverage); !decidable {
		return "the gauge's uncertainty leaves no room in this window; only a finer gauge can decide"
	}
	return "a limit lies within the uncertainty of the reading"
}

func judgeRound(r Round) Judged {
	text := fmt.Sprintf("%d positions, %s to %s, spread %s", r.Round.N,
		r.Format.figure(r.Round.Tightest.Value), r.Format.figure(r.Round.Loosest.Value), r.Format.figure(r.Round.Spread))
	return Judged{
		Stage: r.Stage, Feature: record.FeatureBacklash, Title: record.Title(record.FeatureBacklash),
		Value: r.Round.Mean, U: meanU(r.Points), Format: r.Format, Text: text,
		Limits: r.Spec.Limits, Verdict: r.Verdict, Reason: r.Reason, Rule: r.Spec.Rule,
	}
}

// meanU is the expanded uncertainty of the mean of the points when the gauge's
// part is common to all of them: the mean of their own, which is an upper bound.
func meanU(ps []Point) float64 {
	sum, n := 0.0, 0
	for _, p := range ps {
		if !math.IsNaN(p.U) && !math.IsNaN(p.Value) {
			sum += p.U
			n++
		}
	}
	return sum / float64(n)
}

func judgeRunout(r Runout) Judged {
	var parts []string
	if r.Runout.H1 != nil {
		parts = append(parts, "1× "+r.Format.figure(r.Runout.H1.Movement()))
	}
	if r.Runout.H2 != nil {
		parts = append(parts, "2× "+r.Format.figure(r.Runout.H2.Movement()))
	}
	return Judged{
		Stage: r.Stage, Feature: r.Feature, Title: r.Title, Value: r.Runout.FIM, U: gum.Coverage * r.Runout.FIMU,
		Format: r.Format, Text: strings.Join(append([]string{"full movement"}, parts...), ", "),
		Limits: r.Limits, Verdict: r.Verdict, Reason: r.Reason,
	}
}

func judgeBolts(c BoltCircle) Judged {
	tight, s := 0, newSpan()
	for _, b := range c.Bolts {
		if !math.IsNaN(b.Torque) {
			tight++
			s.add(b.Torque)
		}
	}
	j := Judged{
		Stage: c.Stage, Feature: c.Feature, Title: c.Title, Value: math.NaN(), U: c.U, Format: c.Format,
		Text:   fmt.Sprintf("%d of %d", tight, len(c.Bolts)),
		Limits: gum.Limits{Lower: c.Lower, Upper: c.Upper, Unit: "N·m"}, Verdict: c.Verdict, Reason: c.Reason,
	}
	if !s.empty() {
		j.Text += ", " + c.Format.figure(s.low) + " to " + c.Format.figure(s.high)
	}
	return j
}

// judgeWhole is a feature with one value, at its latest stage.
func (b builder) judgeWhole(feature string, f Format) (Judged, bool) {
	for _, stage := range slices.Backward(b.stages) {
		c, ok := b.last(stage, feature)
		if !ok {
			continue
		}
		if c.Unit != "" {
			f.Unit = c.Unit
		}
		a, text := b.assess(stage, feature), c.Note
		if n := len(a.Results); feature == record.FeatureEngagement && n > 1 {
			text = fmt.Sprintf("slowest of %d cycles", n)
		}
		return Judged{
			Stage: stage, Feature: feature, Title: record.Title(feature), Value: a.Value, U: gum.Coverage * a.U,
			Format: f, Text: text, Limits: a.Spec.Limits, Verdict: a.Verdict, Reason: a.Reason(),
		}, true
	}
	return Judged{}, false
}

// flanks are the two sides of a contact pattern, which are judged together.
var flanks = []string{record.FeaturePatternDrive, record.FeaturePatternCoast}

// judgeFlank is one flank of the contact pattern, at the latest stage.
func (b builder) judgeFlank(feature string) (Judged, bool) {
	for _, stage := range slices.Backward(b.stages) {
		a := b.assess(stage, feature)
		if a.Measured == 0 {
			continue
		}
		return Judged{
			Stage: stage, Feature: feature, Title: record.Title(feature), Value: math.NaN(), U: math.NaN(),
			Text: "by both flanks", Limits: a.Spec.Limits, Verdict: a.Verdict, Reason: a.Reason(),
		}, true
	}
	return Judged{}, false
}

// overall is the verdict of the report: outside if any judged line is, else too
// close to call if any is. Lines without a window do not count; that some were
// not decided is said.
func overall(lines []Judged) (gum.Verdict, string) {
	names := map[gum.Verdict][]string{}
	for _, j := range lines {
		if j.Limits.Any() || j.Verdict == gum.Outside {
			names[j.Verdict] = append(names[j.Verdict], strings.ToLower(j.Title))
		}
	}
	windows := 0
	for _, n := range names {
		windows += len(n)
	}
	list := func(v gum.Verdict) string { return strings.Join(names[v], ", ") }
	switch {
	case windows == 0:
		return gum.NotDecided, "No reading was judged against an entered window"
	case len(names[gum.Outside]) > 0:
		return gum.Outside, "Readings outside the entered window: " + list(gum.Outside)
	case len(names[gum.TooClose]) > 0:
		return gum.TooClose, "Too close to call: " + list(gum.TooClose)
	case len(names[gum.NotDecided]) > 0:
		return gum.NotDecided, "Not decided yet: " + list(gum.NotDecided)
	}
	rules := ""
	for _, j := range lines {
		if j.Verdict == gum.Inside && j.Rule != "" && j.Rule != analysis.RuleAllInside {
			rules += ", " + strings.ToLower(j.Title) + " by the rule " + j.Rule
		}
	}
	switch {
	case rules != "":
		return gum.Inside, fmt.Sprintf("Inside the entered limits%s", rules)
	case windows == 1:
		return gum.Inside, "Readings inside the entered window"
	}
	return gum.Inside, fmt.Sprintf("Readings inside the entered window, for all %d features judged", windows)
}

// rejectedWords says what was measured and set aside.
func rejectedWords(c record.Capture) string {
	what := record.Title(c.Feature)
	if c.Position > 0 {
		what += fmt.Sprintf(", position %d", c.Position)
	}
	if !math.IsNaN(c.Value) {
		what += ": " + Format{Unit: c.Unit, Decimals: 3}.quantity(c.Value)
	}
	if note := c.NoteText(); note != "" {
		what += " (" + note + ")"
	}
	return what
}
