package report

import (
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
		source := "source not entered"
		if w.Source != "" {
			source = w.Source
		}
		if w.Default {
			source = "NOT the maker's: " + source
		}
		lines = append(lines, fmt.Sprintf("%s: %s (%s).", featureName(w.Feature), enteredWords(s, w)+convertedWords(s, w.Feature, w.Unit), source))
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
	unit, _ := record.UnitOf(w.Feature)
	if w.Unit != "" {
		unit = w.Unit
	}
	var parts []string
	switch {
	case w.Lower != nil && w.Upper != nil:
		parts = append(parts, units.Exact(*w.Lower)+" to "+units.Exact(*w.Upper)+spaced(unit))
	case w.Lower != nil:
		parts = append(parts, "≥ "+units.Exact(*w.Lower)+spaced(unit))
	case w.Upper != nil:
		parts = append(parts, "≤ "+units.Exact(*w.Upper)+spaced(unit))
	}
	if w.MaxSpread != nil {
		parts = append(parts, "spread ≤ "+units.Exact(*w.MaxSpread)+spaced(unit))
	}
	if w.Floor != nil {
		parts = append(parts, "none below "+units.Exact(*w.Floor)+spaced(unit))
	}
	switch w.Rule {
	case analysis.RuleTightestInside:
		parts = append(parts, "the tightest position inside")
	case analysis.RuleAnyInside:
		parts = append(parts, "any one position inside")
	}
	switch {
	case w.Feature == record.FeatureBacklash && s.Plunger.Spec != "":
		parts = append(parts, s.Plunger.Spec+" backlash")
	case w.Feature == record.FeaturePreloadPinion || w.Feature == record.FeaturePreloadTotal:
		parts = append(parts, s.Preload.Words())
	}
	return strings.Join(parts, ", ")
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
	f := Format{Unit: spec.Limits.Unit, Decimals: 3}
	if f.Unit != "mm" {
		f.Decimals = 2
	}
	text := " → " + f.limits(spec.Limits)
	if turned {
		text += fmt.Sprintf(", × %.3f because the plunger reads %s", k, s.Plunger.Measured)
	}
	return text
}

func boltSpecWords(b sheet.BoltList) string {
	unit := b.Unit
	if unit == "" {
		unit = "N·m"
	}
	text := fmt.Sprintf("%d × %s%s ± %s %%", b.Count, units.Exact(b.Target), spaced(unit), units.Exact(100*b.Tolerance()))
	if b.Thread != "" {
		text += strings.TrimRight(", "+b.Thread+" "+b.Class, " ")
	}
	return text
}

// byDefault names the judged features whose window is not the maker's, and says
// whether those are all.
func byDefault(lines []Judged) (names []string, all bool) {
	all = true
	for _, j := range lines {
		if !j.Spec.Limits.Any() {
			continue
		}
		if j.Default {
			names = append(names, strings.ToLower(j.title()))
		} else {
			all = false
		}
	}
	return names, all
}

// withDefaults says in the headline that windows were not entered.
func withDefaults(headline string, lines []Judged) string {
	names, all := byDefault(lines)
	switch {
	case len(names) == 0:
		return headline
	case !all:
		return strings.Replace(headline, "the entered window", "the entered and default windows", 1)
	case len(names) > 1:
		return strings.Replace(headline, "the entered window", "default windows, none of them the maker's", 1)
	}
	return strings.Replace(headline, "the entered window", "a default window, not the maker's", 1)
}
