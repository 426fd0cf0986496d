package sheet

import (
	"crownlog/analysis/units"
	"crownlog/logger/record"
)

// UnitFor is the unit the manual prints a feature's figure in, which is what a
// fitter sets a wrench by and types; the feature's own where the sheet has none.
func (s Sheet) UnitFor(name string) string {
	if b, ok := s.BoltList(name); ok && b.Unit != "" {
		return b.Unit
	}
	if w, ok := s.Printed(name); ok && w.Unit != "" {
		return w.Unit
	}
	return record.FeatureOf(name).Unit
}

// PrintedWindow is the window of a feature as the manual prints it, "9 to
// 14 lbf·in"; "" where there is none or it is in the feature's own unit anyway.
func (s Sheet) PrintedWindow(name string) string {
	w, ok := s.Printed(name)
	if !ok || w.Unit == "" || w.Unit == record.FeatureOf(name).Unit {
		return ""
	}
	return w.LimitsAs("at least ", "at most ", " "+w.Unit)
}

// LimitsAs is a window's limits as printed, "9 to 14 lbf·in", or the one there is
// behind least or most; "" where there is none. unit stands last.
func (w Window) LimitsAs(least, most, unit string) string {
	switch {
	case w.Lower != nil && w.Upper != nil:
		return units.Exact(*w.Lower) + " to " + units.Exact(*w.Upper) + unit
	case w.Upper != nil:
		return most + units.Exact(*w.Upper) + unit
	case w.Lower != nil:
		return least + units.Exact(*w.Lower) + unit
	}
	return ""
}
