package report

import (
	"math"
	"slices"

	"crownlog/logger/record"
)

// summarySection is the latest wheel beside the summary table.
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
		value := j.Format.plusMinus(j.Value, j.expanded())
		if math.IsNaN(j.Value) {
			value = j.Text
		}
		t.Rows = append(t.Rows, []entry{
			plain(featureName(j.Feature) + ", " + stageTitle(j.Stage)), plain(value),
			plain(j.Format.limits(j.Spec.Limits) + given(j.Default, " (default)")), judged(j.Verdict, j.Verdict.String()),
		})
	}
	beside, lines := row{}, conclusions(d, record.FeaturePreloadTotal)
	if rounds := d.backlash(); len(rounds) > 0 {
		latest, before := rounds[len(rounds)-1], rounds[:len(rounds)-1]
		beside = row{{Share: 1, Picture: d.wheel(latest, before)}}
		lines = append(lines, dropEmpty(
			"Backlash around the wheel, "+stageTitle(latest.Stage)+": position 1 at the top, numbers clockwise, radius in mm. Line: the once and twice a turn part.",
			"Disc: inside. Crossed diamond: outside. Triangle: too close to call. Circle: not decided.",
			given(latest.Spec.Limits.Any(), "Shaded ring: "+latest.Format.limits(latest.Spec.Limits)+".")+
				given(len(before) > 0, " Thin dashed lines: the stages before."))...)
	}
	return section{Title: "Summary", Rows: []row{append(beside, panel{Share: 2, Table: t, Lines: lines})}}
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
