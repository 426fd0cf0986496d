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
		return captureLine(ev)
	case logger.EventUndone:
		return "undone: " + ev.Position.Label
	case logger.EventFault:
		if ev.Fault == "" {
			return "look: " + ev.Text
		}
		return fmt.Sprintf("fault %s: %s", ev.Fault, ev.Text)
	case logger.EventCleared:
		return "fault over"
	case logger.EventPosition:
		return fmt.Sprintf("position %d, %s", ev.Position.Index, ev.Position.Label)
	case logger.EventGauge:
		return "gauge: " + ev.Text
	case logger.EventDone:
		return "done" + prefixed(": ", ev.Text)
	}
	return ev.Text
}

// captureLine is "stored 0.1520 mm ± 0.0031 mm at position 3, 90°"; ± is at 95 %.
func captureLine(ev logger.Event) string {
	c := ev.Capture
	line := "stored"
	if !math.IsNaN(c.Value) {
		line += " " + withDoubt(c.Value, 2*c.U, unitDecimals(c.Unit), c.Unit)
	}
	if ev.Position.Index > 0 {
		line += fmt.Sprintf(" at position %d, %s", ev.Position.Index, ev.Position.Label)
	}
	if c.Quality != "" && c.Quality != "ok" {
		line += " (" + c.Quality + ")"
	}
	return line + prefixed(": ", c.NoteText())
}

func prefixed(prefix, s string) string {
	if s == "" {
		return ""
	}
	return prefix + s
}

// harmonicObject is null where there is none; to rounds its amplitude.
func harmonicObject(h *analysis.Harmonic, to func(float64) float64) any {
	if h == nil {
		return nil
	}
	return report.Object{{"amplitude", to(h.Amplitude)}, {"phase_deg", units.RoundTo(h.PhaseDeg, 0.1)}}
}

func pointObject(p analysis.RoundPoint) report.Object {
	return report.Object{{"position", p.Position}, {"angle_deg", p.AngleDeg}, {"value", gum.Rounded(p.Value, gum.Coverage*p.U)}, {"standard_uncertainty", twoDigits(p.U)}}
}

// roundSummary is a round's result as JSON. Its conclusion is what it means with
// the job's other rounds.
func roundSummary(v logger.View) report.Object {
	r := v.Round
	to := carried(gum.Coverage*r.SpreadU, unitDecimals(v.Window.Unit)+1)
	var tightest, loosest, h1, h2 any // null where there is none
	if r.N > 0 {
		tightest, loosest = pointObject(r.Tightest), pointObject(r.Loosest)
	}
	if r.N > 0 && r.H1.Amplitude > 0 {
		h1 = harmonicObject(&r.H1, to)
	}
	if r.H2Known {
		h2 = harmonicObject(&r.H2, to)
	}
	return report.Object{
		{"event", "summary"}, {"stage", v.Stage}, {"feature", v.Feature}, {"unit", v.Window.Unit},
		{"complete", v.Complete}, {"n", r.N}, {"mean", to(r.Mean)}, {"standard_deviation", to(r.StdDev)}, {"spread", to(r.Spread)},
		{"value", gum.Rounded(v.Value, gum.Coverage*v.U)}, {"expanded_uncertainty", twoDigits(gum.Coverage * v.U)},
		{"tightest", tightest}, {"loosest", loosest},
		{"outside", append([]int{}, r.Outside...)}, {"missing", append([]int{}, r.Missing...)}, {"h1", h1}, {"h2", h2},
		{"verdict", v.Verdict}, {"reason", v.Reason}, {"advice", v.Advice}, {"conclusion", v.Conclusion},
		{"garbled_frames", v.Garbled},
	}
}

// roundSummaryLines says how a round ended, the verdict first.
func roundSummaryLines(v logger.View) []string {
	lines := []string{fmt.Sprintf("%s, %s: %s", record.Title(v.Feature), v.Stage, roundSentence(v))}
	if v.Reason != "" {
		lines = append(lines, "  "+v.Reason)
	}
	lines = append(lines, figureLines(v)...)
	if w := windowText(v.Window, v.Window.Unit); w != "" {
		lines = append(lines, "  entered window "+w)
	}
	if v.Advice != "" {
		lines = append(lines, "  advice: "+v.Advice)
	}
	if v.Conclusion != "" && v.Conclusion != v.Advice {
		lines = append(lines, "  note: "+v.Conclusion)
	}
	if v.Invented {
		lines = append(lines, "  invented data")
	}
	return lines
}

// figureLines are the figures of a round in words that fit what was measured.
func figureLines(v logger.View) []string {
	r, unit := v.Round, v.Window.Unit // a rate, where pressures are read
	switch {
	case r.N == 0 || math.IsNaN(r.Mean) || v.Feature == record.FeatureCloseUp:
		return nil
	case record.IsPattern(v.Feature):
		return patternLines(v)
	case len(v.Positions) == 1:
		return []string{fmt.Sprintf("  %s %s", record.Title(v.Feature), show(r.Mean, unit))}
	}
	low, high := "lowest", "highest"
	if v.Feature == record.FeatureBacklash {
		low, high = "tightest", "loosest"
	}
	lines := []string{"  mean " + show(r.Mean, unit)}
	if r.N > 1 {
		lines[0] += ", spread " + show(r.Spread, unit)
		lines = append(lines, fmt.Sprintf("  %s %s at %s, %s %s at %s",
			low, show(r.Tightest.Value, unit), place(v, r.Tightest.Position), high, show(r.Loosest.Value, unit), place(v, r.Loosest.Position)))
	}
	return lines
}

// patternLines say where the contact lies.
func patternLines(v logger.View) []string {
	var lines []string
	for i, ends := range []string{"-1 toe, +1 heel", "-1 root, +1 face"} {
		if i < len(v.Positions) && !math.IsNaN(v.Positions[i].Value) {
			lines = append(lines, fmt.Sprintf("  %s %+.2f (%s)", v.Positions[i].Label, v.Positions[i].Value, ends))
		}
	}
	return lines
}

// place is "position 3" or "bolt 3".
func place(v logger.View, index int) string {
	for _, p := range v.Positions {
		if p.Index == index && strings.HasPrefix(p.Label, "bolt ") {
			return p.Label
		}
	}
	return fmt.Sprintf("position %d", index)
}

// conclude prints how a round ended and turns its verdict into the exit code.
func conclude(con *console, out live.Outcome, asJSON bool) error {
	err := con.print(asJSON, roundSummary(out.View), inLines(roundSummaryLines(out.View)))
	return errors.Join(err, outsideIf(out.View.Verdict == gum.Outside))
}

// verdictSentence is the verdict as a fitter reads it; it never says safe.
func verdictSentence(v gum.Verdict, window gum.Limits) string {
	switch {
	case v == gum.TooClose:
		return v.String() + ": the uncertainty reaches over a limit"
	case v == gum.NotDecided && window.Any():
		return "measured, " + v.String()
	case v == gum.NotDecided:
		return "measured, not decided: no window to judge it by"
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
	case record.IsPattern(v.Feature) && v.Verdict == gum.Inside:
		return "inside: accept, by both flanks"
	case record.IsPattern(v.Feature) && v.Verdict == gum.Outside:
		return "outside: STOP, by both flanks"
	case v.Feature == record.FeatureCloseUp:
		return "confirmed by eye, " + v.Verdict.String()
	case record.IsPattern(v.Feature):
		return "entered, " + v.Verdict.String()
	case v.Verdict == gum.Inside && v.Spec.Rule != "" && v.Spec.Rule != analysis.RuleAllInside:
		return v.Verdict.String() + ", by the rule " + v.Spec.Rule
	}
	return verdictSentence(v.Verdict, v.Window)
}

// windowText is "0.130 to 0.180 mm", "up to 0.050 mm" or "from 1.00 N·m".
func windowText(l gum.Limits, unit string) string {
	decimals := unitDecimals(unit)
	low, high := !math.IsNaN(l.Lower), !math.IsNaN(l.Upper)
	limit := func(v float64, unit string, inward func(float64) float64) string {
		if n := feature.DecimalsOf(math.Round(v*1e6) / 1e6); n <= decimals+1 {
			return decimal(v, max(decimals, n), unit) // as it was entered
		}
		k := math.Pow10(decimals) // converted: nothing outside may look inside
		return decimal(inward(v*k)/k, decimals, unit)
	}
	switch {
	case low && high:
		return limit(l.Lower, "", math.Ceil) + " to " + limit(l.Upper, unit, math.Floor)
	case high:
		return "up to " + limit(l.Upper, unit, math.Floor)
	case low:
		return "from " + limit(l.Lower, unit, math.Ceil)
	}
	return ""
}
