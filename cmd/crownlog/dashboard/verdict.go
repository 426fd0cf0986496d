package dashboard

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// verdictStrip is one line with the running verdict of the round: the
// mean, the spread and where it is tightest and loosest. Where the line is
// short, parts are left out from the right.
func verdictStrip(c canvas, v logger.View) {
	var parts []part
	if look := verdictLooks[v.Verdict]; v.Verdict != gum.NotDecided {
		parts = append(parts, part{string(look.mark) + " " + strings.ToUpper(look.says), look.k})
	}
	for _, f := range slices.Concat(roundFacts(v)...) {
		parts = append(parts, part{f, inkPlain})
	}
	c.line(parts...)
}

// roundFacts are the facts of the round so far, the most needed first; those of a
// group belong on one line.
func roundFacts(v logger.View) [][]string {
	r, d := v.Round, v.Decimals
	low, high := "low ", "high "
	if v.Feature == record.FeatureBacklash {
		low, high = "tight ", "loose "
	}
	switch {
	case r.N > 1:
		mean := "mean " + units.Fixed(r.Mean, max(d, min(d+1, 3))) // finer, for it rests on many readings
		return [][]string{{mean, "spread " + units.Fixed(r.Spread, d)}, {low + pointText(r.Tightest, v), high + pointText(r.Loosest, v)}}
	case r.N == 1:
		return [][]string{{"mean " + units.Fixed(r.Mean, d)}}
	case v.Stored > 0: // pulls before the last pass, tries without a time
		return [][]string{{fmt.Sprintf("%d stored", v.Stored)}}
	}
	return [][]string{{"nothing stored yet"}}
}

func pointText(p analysis.RoundPoint, v logger.View) string {
	where := fmt.Sprint(p.Position)
	for _, q := range v.Positions {
		if q.Index == p.Position {
			where = cmp.Or(q.Label, where)
		}
	}
	return units.Fixed(p.Value, v.Decimals) + " at " + where
}

// figures are the results of a finished round: facts that belong on one line
// together.
func figures(v logger.View) [][]string {
	r, d := v.Round, v.Decimals
	lines := [][]string{{v.WindowText()}}
	if r.N > 0 && len(v.Positions) != 1 {
		facts := roundFacts(v)
		facts[0][len(facts[0])-1] += " " + v.Unit
		lines = append(lines, facts...)
		if r.H2Known && (v.Feature == record.FeatureBacklash || runout(v.Feature)) {
			lines = append(lines, []string{"once a turn " + units.Fixed(r.H1.Movement(), d+1) + " " + v.Unit,
				"twice a turn " + units.Fixed(r.H2.Movement(), d+1)})
		}
	} else if !math.IsNaN(v.Estimate) {
		lines = append(lines, []string{record.Title(v.Feature) + " " + v.SoFar()})
	}
	notInside := func(p logger.PositionView) bool { return p.Verdict != gum.Inside } // which the rule for the whole need not want
	why := v.Deciding()
	switch {
	case why != "":
	case v.Verdict == gum.Inside && len(v.Positions) > 1 && !slices.ContainsFunc(v.Positions, notInside):
		why = "every " + strings.Fields(feature.Place(v.Positions[0].Position))[0] + " is inside the limits"
	case !strings.Contains(v.Action, v.Reason):
		why = v.Reason
	}
	lines = append(lines, []string{why}, []string{v.Decides()})
	return slices.DeleteFunc(lines, func(l []string) bool { return l[0] == "" })
}

// alertWord is what an alert is: a fault of the measurement, or something to be
// looked at.
func alertWord(v logger.View) string {
	switch {
	case v.State == logger.StateHeld:
		return "hold"
	case v.Fault != "":
		return "problem"
	}
	return "look"
}
