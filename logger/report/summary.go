package report

import (
	"math"
	"slices"
	"strings"

	"crownlog/logger/record"
)

// summarySection is the latest polar picture beside the summary table.
func summarySection(d Data) section {
	if len(d.Judged) == 0 {
		return section{}
	}
	t := &table{
		Caption: "Each feature at the latest stage it was measured in, ± expanded uncertainty (about 95 %).",
		Columns: []column{{"Feature", false}, {"Value", true}, {"Window", true}, {"Verdict", false}},
	}
	for _, j := range d.Judged {
		if j.Feature == record.FeatureCloseUp {
			continue // said, not measured: see underHeadline
		}
		if j.Feature == record.FeaturePatternCoast && slices.ContainsFunc(d.Judged, func(o Judged) bool {
			return o.Feature == record.FeaturePatternDrive && o.Stage == j.Stage
		}) {
			continue // it stands there already, for both
		}
		name := featureName(j.Feature)
		if slices.Contains(flanks, j.Feature) {
			name = "Contact pattern" // of both flanks
		}
		value := plain(j.Format.plusMinus(j.Value, j.expanded()))
		if math.IsNaN(j.Value) {
			value = plain(j.Text)
		}
		t.Rows = append(t.Rows, []entry{
			plain(name + ", " + shortStage(j.Stage)), value,
			plain(j.Format.limits(j.Spec.Limits) + given(j.Default, " (default)")), judged(j.Verdict, j.Verdict.String()),
		})
	}
	s := section{Title: "Summary"}
	n := len(d.Backlash)
	said := conclusions(d, record.FeaturePreloadTotal)
	if n == 0 {
		s.Rows = []row{{{Share: 1, Table: t, Lines: said}}}
		return s
	}
	latest := d.Backlash[n-1]
	picture := polarPicture(latest, d.Backlash[:n-1], backlashScale(d.Backlash, polarLarge), polarLarge)
	s.Rows = []row{{{Share: 1, Picture: picture}, {Share: 2, Table: t, Lines: append(said, polarLegend(d)...)}}}
	return s
}

// conclusions are what the rounds of these features mean together with others.
func conclusions(d Data, features ...string) []string {
	var lines []string
	for _, j := range d.Judged {
		if j.Conclusion != "" && slices.Contains(features, j.Feature) {
			lines = append(lines, upperFirst(j.title())+", "+stageTitle(j.Stage)+": "+j.Conclusion)
		}
	}
	return lines
}

// polarLegend explains the picture.
func polarLegend(d Data) []string {
	latest := d.Backlash[len(d.Backlash)-1]
	return dropEmpty(
		"Backlash around the wheel, "+stageTitle(latest.Stage)+": position 1 at the top, numbers clockwise, radius in mm.",
		"Disc: inside. Crossed diamond: outside. Triangle: too close to call. Circle: not decided.",
		strings.Join(dropEmpty(
			given(latest.Spec.Limits.Any(), "Shaded ring: "+latest.Format.windowWords(latest.Spec.Limits)+"."),
			given(len(d.Backlash) > 1, "Thin dashed lines: the stages before.")), " "))
}
