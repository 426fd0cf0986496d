package dashboard

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
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
	for _, f := range stripParts(v) {
		parts = append(parts, part{f, inkPlain})
	}
	c.line(2, parts...)
}

// stripParts are the facts of the round so far, the most needed first.
func stripParts(v logger.View) []string {
	switch v.Round.N {
	case 0:
		if v.Stored > 0 { // pulls before the last pass, tries without a time
			return []string{fmt.Sprintf("%d stored", v.Stored)}
		}
		return []string{"nothing stored yet"}
	case 1:
		return []string{"mean " + short(v.Round.Mean, v.Decimals)}
	}
	low, high := extremes(v.Feature)
	return []string{
		"mean " + short(v.Round.Mean, finer(v)),
		"spread " + short(v.Round.Spread, v.Decimals),
		low + pointText(v.Round.Tightest, v),
		high + pointText(v.Round.Loosest, v),
	}
}

// finer is the decimals of a mean, which rests on many readings.
func finer(v logger.View) int { return max(v.Decimals, min(v.Decimals+1, 3)) }

// extremes name the smallest and the largest value of a round.
func extremes(name string) (low, high string) {
	if name == record.FeatureBacklash {
		return "tight ", "loose "
	}
	return "low ", "high "
}

func pointText(p analysis.RoundPoint, v logger.View) string {
	where := fmt.Sprintf(" at %d", p.Position)
	for _, q := range v.Positions {
		if q.Index == p.Position && q.Label != "" {
			where = " at " + q.Label
		}
	}
	return short(p.Value, v.Decimals) + where
}

// figures are the results of a finished round: facts that belong on one line
// together.
func figures(v logger.View) [][]string {
	r, d := v.Round, v.Decimals
	var lines [][]string
	add := func(facts ...string) { lines = append(lines, facts) }
	if w := v.WindowText(); w != "" {
		add(w)
	}
	if r.N > 0 && len(v.Positions) != 1 {
		low, high := extremes(v.Feature)
		add("mean "+short(r.Mean, finer(v)), "spread "+short(r.Spread, d)+" "+v.Unit)
		add(low+pointText(r.Tightest, v), high+pointText(r.Loosest, v))
		if r.H2Known && (v.Feature == record.FeatureBacklash || runout(v.Feature)) {
			add("once a turn "+short(r.H1.Movement(), d+1)+" "+v.Unit, "twice a turn "+short(r.H2.Movement(), d+1))
		}
	} else if !math.IsNaN(v.Estimate) {
		add(record.Title(v.Feature) + " " + v.SoFar())
	}
	switch { // why the verdict is what it is
	case v.Deciding() != "":
		add(v.Deciding())
	case v.Verdict == gum.Inside && len(v.Positions) > 1 && everyInside(v):
		add("every " + strings.Fields(feature.Place(v.Positions[0].Position))[0] + " is inside the limits")
	case !strings.Contains(v.Action, v.Reason):
		add(v.Reason)
	}
	return lines
}

// everyInside reports whether each position is inside by itself, which the rule
// for the whole need not want.
func everyInside(v logger.View) bool {
	return !slices.ContainsFunc(v.Positions, func(p logger.PositionView) bool { return p.Verdict != gum.Inside })
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
