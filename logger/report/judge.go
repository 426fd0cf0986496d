package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// judge is the summary: each feature at the latest stage it was measured in. It
// words what was assessed and decides nothing.
func (d Data) judge(stages []string) []Judged {
	var lines []Judged
	measured := d.Measured
	if work, ok := d.awaited(stages); ok {
		why := words.Work(work.Feature)
		stale := d.measured(work.Stage, record.FeatureBacklash)
		lines = []Judged{{Measured: stale, Text: "not re-measured since " + why, Reason: why + " after it was measured"}}
		measured = measured[len(d.backlash()):] // which comes first
	}
	for i, m := range measured {
		if i+1 == len(measured) || measured[i+1].Feature != m.Feature {
			lines = append(lines, Judged{Measured: m, Text: d.text(m), Reason: m.why()})
		}
	}
	for i, j := range lines {
		w, _ := d.Sheet.InStage(j.Stage).Printed(j.Feature)
		lines[i].Default, lines[i].Conclusion = w.Default, job.Conclusion(d.Sheet, d.captures, j.Stage, j.Feature)
	}
	return lines
}

// measured is what is known of a feature in a stage; torques are written to a tenth,
// lengths as the gauge resolves them.
func (d Data) measured(stage, name string) Measured {
	m := Measured{Assessment: feature.Assess(d.Sheet, d.captures, stage, name), Format: Format{record.FeatureOf(name).Unit, 2}}
	switch {
	case m.Format.Unit == "mm":
		m.Format = millimetres(d.Sheet)
	case slices.Contains(boltLists, name):
		m.Format.Decimals = 1
	}
	if m.Runout == nil && slices.Contains(runouts, name) { // two places show no movement
		nan := math.NaN()
		m.Runout = &runout.Result{FIM: nan, FIMU: nan, ResidualSD: nan, FIMIfReseated: nan}
	}
	return m
}

// why is the reason of the verdict; of a value that is too close to a limit what
// keeps it from being decided.
func (m Measured) why() string {
	if m.Verdict != gum.TooClose || m.Feature == record.FeatureBacklash {
		return m.Reason()
	}
	return cmp.Or(strings.TrimSuffix(m.Decides(), "."), "the uncertainty reaches over a limit")
}

// awaited is the work on the axle that put the backlash out of date, with the
// stage that has to be measured again: the latest that was emptied, if none later
// stands. An older stage does not stand in.
func (d Data) awaited(stages []string) (work record.Capture, ok bool) {
	rounds := d.backlash()
	for _, stage := range slices.Backward(stages) {
		if n := len(rounds); n > 0 && rounds[n-1].Stage == stage {
			work, ok = record.StaleSince(d.captures, record.StageFinal, record.FeatureBacklash)
			return work, ok && !slices.ContainsFunc(rounds[n-1].captures(), func(c record.Capture) bool { return c.ID > work.ID })
		}
		if work, ok = record.Emptied(d.captures, stage, record.FeatureBacklash); ok {
			work.Stage = stage
			return work, true
		}
	}
	return work, false
}

// text is what was measured, in figures.
func (d Data) text(m Measured) string {
	n, r, f := len(m.Results), m.Round, m.Format
	switch {
	case m.Feature == record.FeatureBacklash:
		return fmt.Sprintf("%d positions, %s to %s, spread %s", r.N, f.figure(r.Tightest.Value), f.figure(r.Loosest.Value), f.figure(r.Spread))
	case m.Runout != nil:
		h1, h2 := m.harmonics()
		return strings.Join(dropEmpty("full movement", given(h1 != nil, "1× "+harmonicText(h1, f)), given(h2 != nil, "2× "+harmonicText(h2, f))), ", ")
	case slices.Contains(boltLists, m.Feature):
		return d.torques(m)
	case slices.Contains(flanks, m.Feature):
		return "by both flanks"
	case m.Feature == record.FeatureCloseUp:
		return fmt.Sprintf("%d of %d parts", n, m.Needed) + given(len(m.Missing) > 0, "; "+m.Reason())
	case m.Feature == record.FeatureEngagement && n > 1:
		return fmt.Sprintf("slowest of %d cycles", n)
	}
	return m.Results[0].Capture.Note
}

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
	limits := "the limits you entered"
	if usual := len(byDefault(lines)); usual > 0 {
		limits = fmt.Sprintf("the limits in job.toml, %d of them not the maker's", usual)
	}
	words := map[gum.Verdict]string{gum.Outside: "OUTSIDE " + limits, gum.TooClose: "Too close to call", gum.NotDecided: "Not decided yet"}
	for _, worst := range []gum.Verdict{gum.Outside, gum.TooClose, gum.NotDecided} {
		if n := names[worst]; len(n) > 0 {
			return worst, words[worst] + ": " + strings.Join(n, ", ")
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
	undone := slices.DeleteFunc(slices.Clone(d.Holds), func(h job.HoldPoint) bool { return !h.NotDone() })
	say("NOT MEASURED", job.Titles(d.Lacking, job.Step.At))
	say("NOT DONE", job.Titles(undone, job.HoldPoint.At))
	say("NOT ASKED FOR IN job.toml", job.Unasked(d.Sheet))
	say("SKIPPED", job.Titles(skipped, job.HoldPoint.At))
	say("FAILED BEFORE AND REPEATED", job.Titles(d.Repeats, func(r job.Repeat) (string, string) { return r.Stage, r.Feature }))
	return lines
}
