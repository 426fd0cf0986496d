package report

import (
	"cmp"
	"fmt"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// windowLines has a line for each figure of the sheet: as the manual prints it
// and, after an arrow where that differs, as it was judged; and where it stands
// in the manual.
func windowLines(s sheet.Sheet) []string {
	var lines []string
	for _, w := range s.Windows {
		source := given(w.Default, "NOT the maker's: ") + cmp.Or(w.Source, "source not entered")
		here := s.InStage(w.Stage)
		window := enteredWords(here, w) + convertedWords(here, w.Feature, w.Unit)
		lines = append(lines, fmt.Sprintf("%s%s: %s (%s).", featureName(w.Feature), given(w.Stage != "", ", "+stageTitle(w.Stage)), window, source))
	}
	for _, b := range s.Bolts {
		lines = append(lines, featureName(b.Feature)+": "+boltSpecWords(b)+convertedWords(s, b.Feature, b.Unit)+".")
	}
	if len(lines) > 0 {
		lines[0] = "Windows as entered, in the manual's unit (source); → as judged. " + lines[0]
	}
	return lines
}

// featureName is a feature in a narrow column.
func featureName(feature string) string {
	return upperFirst(strings.Replace(record.Title(feature), "run-out of the ", "run-out, ", 1))
}

// enteredWords is a window in the manual's own unit, with its rule where that
// is not the usual one.
func enteredWords(s sheet.Sheet, w sheet.Window) string {
	unit := cmp.Or(w.Unit, record.FeatureOf(w.Feature).Unit)
	printed := func(p *float64, before string) string {
		if p == nil {
			return ""
		}
		return before + units.Exact(*p) + spaced(unit)
	}
	return strings.Join(dropEmpty(w.LimitsAs("≥ ", "≤ ", spaced(unit)),
		printed(w.MaxSpread, "spread ≤ "), printed(w.Floor, "none below "),
		given(w.Rule == analysis.RuleTightestInside, "the tightest position inside"),
		given(w.Rule == analysis.RuleAnyInside, "any one position inside"),
		given(w.Feature == record.FeatureBacklash && s.Plunger.Spec != "", s.Plunger.Spec+" backlash"),
		given(record.IsPreload(w.Feature), s.PreloadOf(w.Feature).Words())), ", ")
}

// convertedWords is the window that readings were compared with, in the unit
// they are kept in, where it is not the entered one.
func convertedWords(s sheet.Sheet, feature, unit string) string {
	spec := s.Window(feature)
	k, _ := s.PlungerFactor()
	turned := feature == record.FeatureBacklash && k != 1
	if !turned && (unit == "" || unit == spec.Limits.Unit) || !spec.Limits.Any() {
		return ""
	}
	f := Format{spec.Limits.Unit, 2}
	if f.Unit == "mm" {
		f.Decimals = 3
	}
	return " → " + f.limits(spec.Limits) + given(turned, fmt.Sprintf(", × %.3f because the plunger reads %s", k, s.Plunger.Measured))
}

func boltSpecWords(b sheet.BoltList) string {
	return fmt.Sprintf("%d × %s%s ± %s %%", b.Count, units.Exact(b.Target), spaced(cmp.Or(b.Unit, "N·m")), units.Exact(100*b.Tolerance())) +
		given(b.Thread != "", strings.TrimRight(", "+b.Thread+" "+b.Class, " "))
}
