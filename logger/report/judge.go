package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// judge is the summary: each feature at the latest stage it was measured in. It
// words what was assessed and decides nothing.
func (b builder) judge(d *Data) []Judged {
	var lines []Judged
	if stage, moved := b.awaited(d.Backlash); moved {
		lines = append(lines, b.awaitedLine(stage))
	} else if n := len(d.Backlash); n > 0 {
		r := d.Backlash[n-1]
		lines = append(lines, newLine(r.Measured, fmt.Sprintf("%d positions, %s to %s, spread %s", r.Round.N,
			r.Format.figure(r.Round.Tightest.Value), r.Format.figure(r.Round.Loosest.Value), r.Format.figure(r.Round.Spread))))
	}
	for _, r := range d.Runouts {
		lines = append(lines, newLine(r.Measured, r.movements()))
	}
	for _, c := range d.Bolts {
		lines = append(lines, newLine(c.Measured, c.torques()))
	}
	for _, f := range []string{
		record.FeaturePreloadPinion, record.FeaturePreloadTotal, record.FeatureLeakDown, record.FeatureCloseUp, record.FeatureOilFill,
		record.FeatureEngagement, record.FeaturePatternDrive, record.FeaturePatternCoast,
	} {
		for _, stage := range b.stages {
			if m, ok := b.measured(stage, f); ok {
				lines = append(lines, newLine(m, wholeText(m)))
			}
		}
	}
	var latest []Judged
	for i, j := range lines {
		if slices.ContainsFunc(lines[i+1:], func(o Judged) bool { return o.Feature == j.Feature }) {
			continue
		}
		w, _ := b.sheet.Printed(j.Feature)
		j.Default = w.Default
		j.Conclusion = job.Conclusion(b.sheet, b.all, j.Stage, j.Feature)
		latest = append(latest, j)
	}
	return latest
}

func newLine(m Measured, text string) Judged {
	j := Judged{Measured: m, Text: text, Reason: m.Reason()}
	if m.Verdict == gum.TooClose && m.Feature != record.FeatureBacklash {
		j.Reason = m.whyTooClose()
	}
	return j
}

// whyTooClose says what keeps a value from being decided.
func (m Measured) whyTooClose() string {
	if _, decidable := gum.Capability(m.Spec.Limits, m.U); !decidable {
		return "the gauge's uncertainty leaves no room in this window; only a finer gauge can decide"
	}
	return "a limit lies within the uncertainty of the reading"
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
		if _, emptied := record.Emptied(b.all, stage, record.FeatureBacklash); i > latest && emptied {
			return stage, true
		}
	}
	measured := false
	for _, c := range b.active {
		switch c.Feature {
		case record.FeatureMove:
			stage, moved = c.Stage, true
		case record.FeatureBacklash:
			measured, moved = true, false
		}
	}
	return stage, moved && measured
}

// awaitedLine is the line of a backlash that has to be measured again.
func (b builder) awaitedLine(stage string) Judged {
	a := feature.Assessment{Stage: stage, Feature: record.FeatureBacklash, Value: math.NaN(), U: math.NaN()}
	a.Spec.Limits = b.sheet.Window(record.FeatureBacklash).Limits
	return Judged{
		Measured: Measured{a, millimetres(b.sheet)},
		Text:     "not re-measured since the adjusters were moved", Reason: "the adjusters were moved after it was measured",
	}
}

// movements are the parts of a full movement.
func (r Runout) movements() string {
	text := "full movement"
	for i, h := range []*analysis.Harmonic{r.Runout.H1, r.Runout.H2} {
		if h != nil {
			text += fmt.Sprintf(", %d× %s", i+1, r.Format.figure(h.Movement()))
		}
	}
	return text
}

// torques says how many bolts are tight, and from where to where.
func (c BoltCircle) torques() string {
	tight, s := c.tight()
	return fmt.Sprintf("%d of %d", tight, len(c.Bolts)) + given(tight > 0, ", "+c.Format.figure(s.low)+" to "+c.Format.figure(s.high))
}

// tight is how many bolts have their torque, and the span of these.
func (c BoltCircle) tight() (int, span) {
	n, s := 0, newSpan()
	for _, b := range c.Bolts {
		if !math.IsNaN(b.torque()) {
			n++
			s.add(b.torque())
		}
	}
	return n, s
}

// wholeText is what the value of a feature with one value is.
func wholeText(m Measured) string {
	n := len(m.Results)
	switch {
	case slices.Contains(flanks, m.Feature):
		return "by both flanks"
	case m.Feature == record.FeatureCloseUp:
		return m.Reason()
	case m.Feature == record.FeatureEngagement && n > 1:
		return fmt.Sprintf("slowest of %d cycles", n)
	}
	return m.Results[0].Capture.Note
}

// flanks are the two sides of a contact pattern, which are judged together.
var flanks = []string{record.FeaturePatternDrive, record.FeaturePatternCoast}

// overall is the verdict of the report: outside if any judged line is, else too
// close to call if any is. Lines without a window do not count; that some were
// not decided is said.
func overall(lines []Judged) (gum.Verdict, string) {
	names := map[gum.Verdict][]string{}
	windows, rules := 0, ""
	for _, j := range lines {
		name := strings.ToLower(j.title())
		if j.Spec.Limits.Any() || j.Verdict == gum.Outside {
			names[j.Verdict] = append(names[j.Verdict], name)
			windows++
		}
		if j.Verdict == gum.Inside && j.Spec.Rule != "" && j.Spec.Rule != analysis.RuleAllInside {
			rules += ", " + name + " by the rule " + j.Spec.Rule
		}
	}
	for _, worst := range []struct {
		verdict gum.Verdict
		words   string
	}{
		{gum.Outside, "OUTSIDE the limits you entered: "}, {gum.TooClose, "Too close to call: "}, {gum.NotDecided, "Not decided yet: "},
	} {
		if n := names[worst.verdict]; len(n) > 0 {
			return worst.verdict, worst.words + strings.Join(n, ", ")
		}
	}
	switch {
	case windows == 0:
		return gum.NotDecided, "No reading was judged against an entered window"
	case rules != "":
		return gum.Inside, fmt.Sprintf("%d measured, inside the limits you entered%s", windows, rules)
	}
	return gum.Inside, fmt.Sprintf("%d measured, all inside the limits you entered", windows)
}

// standing is what the headline says behind the verdict: what is not measured,
// was skipped, or failed before it was measured again.
func standing(d Data) []string {
	var lines []string
	say := func(said string, titles []string) {
		if len(titles) > 0 {
			lines = append(lines, said+": "+strings.Join(titles, ", "))
		}
	}
	var lacking, unasked, skipped, repeated []string
	add := func(to *[]string, stage, name string) {
		if title := job.ShortTitle(stage, name); !slices.Contains(*to, title) {
			*to = append(*to, title)
		}
	}
	for _, s := range d.Lacking {
		add(&lacking, s.Stage, s.Feature)
	}
	for _, name := range job.Unasked(d.Sheet) {
		add(&unasked, "", name)
	}
	for _, h := range d.Holds {
		if h.Skipped != "" && !h.Cleared() {
			add(&skipped, h.Stage, h.Feature)
		}
	}
	for _, r := range d.Repeats {
		add(&repeated, r.Stage, r.Feature)
	}
	say("NOT MEASURED", lacking)
	say("NOT ASKED FOR BY THE SHEET", unasked)
	say("SKIPPED", skipped)
	say("FAILED BEFORE AND REPEATED", repeated)
	return lines
}
