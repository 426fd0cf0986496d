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
	if work, ok := b.awaited(d.Backlash); ok {
		lines = append(lines, b.awaitedLine(work))
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
	for _, j := range lines {
		latest = slices.DeleteFunc(latest, func(o Judged) bool { return o.Feature == j.Feature })
		w, _ := b.sheet.InStage(j.Stage).Printed(j.Feature)
		j.Default, j.Conclusion = w.Default, job.Conclusion(b.sheet, b.all, j.Stage, j.Feature)
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
	if m.TooCoarse() {
		return "the gauge's uncertainty leaves no room in this window; only a finer gauge can decide"
	}
	return "a limit lies within the uncertainty of the reading"
}

// awaited is the work on the axle that put the backlash out of date, with the
// stage that has to be measured again: the latest that was emptied, if none later
// stands. An older stage does not stand in.
func (b builder) awaited(rounds []Round) (work record.Capture, ok bool) {
	for _, stage := range slices.Backward(b.stages) {
		if n := len(rounds); n > 0 && rounds[n-1].Stage == stage {
			break
		}
		if work, ok = record.Emptied(b.all, stage, record.FeatureBacklash); ok {
			work.Stage = stage
			return work, true
		}
	}
	work, _ = record.StaleSince(b.all, record.StageFinal, record.FeatureBacklash)
	for _, r := range rounds {
		ok = true
		for _, p := range r.Results {
			if p.Capture.ID > work.ID {
				return work, false
			}
		}
	}
	return work, ok && work.ID > 0
}

// awaitedLine is the line of a backlash that has to be measured again.
func (b builder) awaitedLine(work record.Capture) Judged {
	a := feature.Assessment{Stage: work.Stage, Feature: record.FeatureBacklash, Value: math.NaN(), U: math.NaN()}
	a.Spec.Limits = b.sheet.Window(record.FeatureBacklash).Limits
	why := feature.WorkWords(work.Feature)
	return Judged{Measured: Measured{a, millimetres(b.sheet)}, Text: "not re-measured since " + why, Reason: why + " after it was measured"}
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
		return fmt.Sprintf("%d of %d parts", n, m.Needed) + given(len(m.Missing) > 0, "; "+m.Reason())
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
	windows, entered, limits, rules := 0, 0, "the limits you entered", ""
	for _, j := range lines {
		name := strings.ToLower(j.title())
		if j.Spec.Limits.Any() || j.Verdict == gum.Outside {
			names[j.Verdict] = append(names[j.Verdict], name)
			windows++
		}
		if j.Spec.Limits.Any() && !j.Default {
			entered++
		}
		if j.Verdict == gum.Inside && j.Spec.Rule != "" && j.Spec.Rule != analysis.RuleAllInside {
			rules += ", " + name + " by the rule " + j.Spec.Rule
		}
	}
	if len(byDefault(lines)) > 0 {
		limits = given(entered > 0, limits+" and crownlog's own defaults") + given(entered == 0, "crownlog's own default limits, none of them the maker's")
	}
	for _, worst := range []struct {
		verdict gum.Verdict
		words   string
	}{
		{gum.Outside, "OUTSIDE " + limits}, {gum.TooClose, "Too close to call"}, {gum.NotDecided, "Not decided yet"},
	} {
		if n := names[worst.verdict]; len(n) > 0 {
			return worst.verdict, worst.words + ": " + strings.Join(n, ", ")
		}
	}
	if windows == 0 {
		return gum.NotDecided, "No reading was judged against an entered window"
	}
	return gum.Inside, fmt.Sprintf("%d measured, %sinside %s%s", windows, given(rules == "", "all "), limits, rules)
}

// byDefault names the judged features whose window is not the maker's.
func byDefault(lines []Judged) (names []string) {
	for _, j := range lines {
		if j.Default && j.Spec.Limits.Any() {
			names = append(names, strings.ToLower(j.title()))
		}
	}
	return names
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
	skipped := slices.DeleteFunc(slices.Clone(d.Holds), func(h job.HoldPoint) bool { return h.Skipped == "" })
	say("NOT MEASURED", job.Titles(d.Lacking, job.Step.At))
	undone := slices.DeleteFunc(slices.Clone(d.Holds), func(h job.HoldPoint) bool { return !h.NotDone() })
	say("NOT DONE", job.Titles(undone, job.HoldPoint.At))
	say("NOT ASKED FOR BY THE SHEET", job.Unasked(d.Sheet))
	say("SKIPPED", job.Titles(skipped, job.HoldPoint.At))
	say("FAILED BEFORE AND REPEATED", job.Titles(d.Repeats, func(r job.Repeat) (string, string) { return r.Stage, r.Feature }))
	return lines
}
