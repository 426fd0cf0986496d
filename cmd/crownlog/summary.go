package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/cmd/crownlog/live"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

// plainListener returns a listener that prints round events on con.out as
// lines: plain words, or JSON.
func plainListener(con *console, asJSON bool) func(logger.Event) {
	if asJSON {
		return func(ev logger.Event) { _ = con.json(roundLine(ev)) }
	}
	return func(ev logger.Event) {
		if line := plainLine(ev); line != "" {
			fmt.Fprintln(con.out, line)
		}
	}
}

// roundLine is ev as a JSON line.
func roundLine(ev logger.Event) report.Object {
	placed, stored := ev.Position.Index > 0, ev.Kind == logger.EventCaptured || ev.Kind == logger.EventUndone
	c := ev.Capture
	return slices.Concat(
		report.Object{{"event", ev.Kind}, {"time", ev.Time.Format(time.RFC3339Nano)}},
		given(placed, "position", ev.Position.Index),
		given(placed && !math.IsNaN(ev.Position.AngleDeg), "angle_deg", ev.Position.AngleDeg),
		given(stored && !math.IsNaN(c.Value), "value", c.Value),
		given(stored && c.Unit != "", "unit", c.Unit),
		given(stored && !math.IsNaN(c.U), "standard_uncertainty", c.U),
		given(stored && c.Quality != "", "quality", c.Quality), given(stored && c.By != "", "by", c.By),
		given(ev.Fault != "", "fault", ev.Fault),
		given(ev.Text != "", "text", ev.Text),
	)
}

// plainLine says ev in one line; "" for what only a screen shows.
func plainLine(ev logger.Event) string {
	switch ev.Kind {
	case logger.EventStop, logger.EventRock:
		return ""
	case logger.EventCaptured:
		return "stored" + captureWords(ev.Capture, ev.Position.Label)
	case logger.EventPosition:
		return fmt.Sprintf("position %d, %s", ev.Position.Index, ev.Position.Label)
	case logger.EventFault, logger.EventGauge, logger.EventDone:
		return string(ev.Kind) + prefixed(" ", string(ev.Fault)) + ": " + ev.Text
	}
	return ev.Text
}

// captureWords is " 0.1520 mm ± 0.0031 mm at position 3, 90°"; ± is at 95 %.
func captureWords(c record.Capture, label string) string {
	return words.Given(!math.IsNaN(c.Value), " "+withDoubt(c.Value, 2*c.U, unitDecimals(c.Unit), c.Unit)) +
		words.Given(c.Position > 0, fmt.Sprintf(" at position %d%s", c.Position, prefixed(", ", label))) +
		words.Given(c.Quality != "" && c.Quality != record.QualityOK, " ("+c.Quality+")") + prefixed(": ", c.NoteText())
}

func prefixed(prefix, s string) string { return record.Fronted("", prefix, s) }

func pointObject(p analysis.RoundPoint) report.Object {
	return report.Object{{"position", p.Position}, {"angle_deg", p.AngleDeg}, {"value", gum.Rounded(p.Value, gum.Coverage*p.U)}, {"standard_uncertainty", gum.RoundedU(p.U)}}
}

// roundSummary is a round's result as JSON. Its conclusion is what it means with
// the job's other rounds.
func roundSummary(v logger.View) report.Object {
	r, tightest, loosest := v.Round, any(nil), any(nil) // null where there is none
	h1, h2 := report.Harmonics(r)
	to := func(x float64) float64 { return gum.Carried(x, gum.Coverage*r.SpreadU, unitDecimals(v.Window.Unit)+1) }
	if r.N > 0 {
		tightest, loosest = pointObject(r.Tightest), pointObject(r.Loosest)
	}
	return report.Object{
		{"event", "summary"}, {"stage", v.Stage}, {"feature", v.Feature}, {"unit", v.Window.Unit},
		{"complete", v.Complete}, {"n", r.N}, {"mean", to(r.Mean)}, {"standard_deviation", to(r.StdDev)}, {"spread", to(r.Spread)},
		{"value", gum.Rounded(v.Value, gum.Coverage*v.U)}, {"expanded_uncertainty", gum.RoundedU(gum.Coverage * v.U)},
		{"tightest", tightest}, {"loosest", loosest},
		{"outside", append([]int{}, r.Outside...)}, {"missing", append([]int{}, r.Missing...)},
		{"h1", report.HarmonicObject(h1, to)}, {"h2", report.HarmonicObject(h2, to)},
		{"verdict", v.Verdict}, {"reason", v.Reason}, {"advice", v.Advice}, {"conclusion", v.Conclusion},
		{"garbled_frames", v.Garbled},
	}
}

// roundSummaryLines says how a round ended, the verdict first.
func roundSummaryLines(v logger.View) []string {
	note := words.Given(v.Conclusion != v.Advice, v.Conclusion)
	window := prefixed(words.Given(v.Printed != "", v.Printed+" = "), windowText(v.Window, v.Window.Unit))
	lines := slices.Concat(
		[]string{fmt.Sprintf("%s, %s: %s", record.Title(v.Feature), v.Stage, roundSentence(v)), prefixed("  ", v.Reason)},
		figureLines(v),
		[]string{prefixed("  entered window ", window), prefixed("  advice: ", v.Advice), prefixed("  note: ", note), words.Given(v.Invented, "  invented data")},
	)
	return slices.DeleteFunc(lines, func(line string) bool { return line == "" })
}

// figureLines are the figures of a round in words that fit what was measured.
func figureLines(v logger.View) []string {
	r, unit := v.Round, v.Window.Unit // a rate, where pressures are read
	var lines []string
	switch {
	case r.N == 0 || math.IsNaN(r.Mean) || v.Feature == record.FeatureCloseUp:
		return nil
	case record.IsPattern(v.Feature):
		for _, p := range v.Results {
			name := place(v, p.Capture.Position)
			lines = append(lines, fmt.Sprintf("  %s %+.2f (%s)", name, p.Capture.Value, patternEnds[name]))
		}
		return lines
	case r.N == 1:
		return []string{fmt.Sprintf("  %s %s", record.Title(v.Feature), show(r.Mean, unit))}
	}
	low, high := "lowest", "highest"
	if v.Feature == record.FeatureBacklash {
		low, high = "tightest", "loosest"
	}
	return []string{
		"  mean " + show(r.Mean, unit) + ", spread " + show(r.Spread, unit),
		fmt.Sprintf("  %s %s at %s, %s %s at %s", low, show(r.Tightest.Value, unit), place(v, r.Tightest.Position),
			high, show(r.Loosest.Value, unit), place(v, r.Loosest.Position)),
	}
}

// patternEnds are what the numbers of a contact pattern go from and to.
var patternEnds = map[string]string{"along": "-1 toe, +1 heel", "up": "-1 root, +1 face"}

// place is "position 3" or "bolt 3".
func place(v logger.View, index int) string {
	for _, p := range v.Positions {
		if p.Index == index {
			return feature.Place(p.Position)
		}
	}
	return fmt.Sprintf("position %d", index)
}

// conclude prints how a round ended and turns its verdict into the exit code.
func conclude(con *console, out live.Outcome, asJSON bool) error {
	err := con.print(asJSON, roundSummary(out.View), inLines(roundSummaryLines(out.View)))
	return errors.Join(err, outsideIf(out.View.Verdict == gum.Outside))
}

// verdictSentence is the verdict as a fitter reads it; it never says safe. Why it is so
// stands behind it.
func verdictSentence(v gum.Verdict, window gum.Limits) string {
	switch {
	case v == gum.TooClose:
		return v.String() + ": the uncertainty reaches over a limit"
	case v == gum.NotDecided:
		return "measured, " + v.String()
	case window.Any():
		return "readings " + v.String() + " the entered window"
	}
	return v.String()
}

// roundSentence is the verdict on a round; one that is not finished says how far
// it is.
func roundSentence(v logger.View) string {
	switch {
	case !v.Complete:
		return fmt.Sprintf("%s, not finished: %d of %d measured", v.Verdict, v.Measured, v.Needed)
	case v.Verdict == gum.Inside && v.Spec.Rule != "" && v.Spec.Rule != analysis.RuleAllInside:
		return v.Verdict.String() + ", by the rule " + v.Spec.Rule
	}
	return verdictSentence(v.Verdict, v.Window)
}

// given is a member that JSON leaves out where it is not known.
func given(known bool, name string, v any) report.Object {
	if !known {
		return nil
	}
	return report.Object{{name, v}}
}

// count is "1 value" or "3 values".
func count(n int, one string) string { return units.Counted(n, one, one+"s") }

// windowText is limits as they were entered, "0.13 to 0.18 mm", "at most 0.05 mm"; of
// converted ones as many digits as the unit has, rounded so that nothing outside looks
// inside.
func windowText(l gum.Limits, unit string) string {
	v := logger.View{Window: l, Unit: unit, Decimals: unitDecimals(unit) + 1}
	return strings.TrimPrefix(v.WindowText(), "window ")
}

// unitDecimals is how many decimals a unit is shown with where the gauge's own
// resolution is not known.
func unitDecimals(unit string) int {
	switch unit {
	case "mm":
		return 3
	case "in":
		return 4
	case "µm", "deg", "°C", "lbf·in", "kgf·cm", "notch":
		return 1
	}
	return 2
}

// show formats v in unit, "0.173 mm".
func show(v float64, unit string) string { return decimal(v, unitDecimals(unit), unit) }

// decimal shows v in unit with as many decimals as the gauge resolves.
func decimal(v float64, digits int, unit string) string {
	return units.Fixed(v, digits) + prefixed(" ", unit)
}

// uncertain shows an uncertainty with two significant digits, however fine that
// is beside the gauge's own; none at all as 0.
func uncertain(u float64, unit string) string {
	rounded, decimals := gum.RoundU(u)
	return decimal(rounded, decimals, unit)
}

// withDoubt shows a value with its expanded uncertainty, both to the decimal that
// has the second significant digit of that. Where it is not known the value has
// as many as the gauge resolves.
func withDoubt(v, expanded float64, digits int, unit string) string {
	if !(expanded > 0) {
		return decimal(v, digits, unit)
	}
	_, decimals := gum.RoundU(expanded)
	return decimal(v, decimals, unit) + " ± " + uncertain(expanded, unit)
}
