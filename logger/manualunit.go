package logger

import "strconv"

// UnitFor is the unit the manual prints a feature's figure in, which is what a
// fitter sets a wrench by and types; the feature's own where the sheet has none.
func (s Sheet) UnitFor(name string) string {
	if b, ok := s.BoltList(name); ok && b.Unit != "" {
		return b.Unit
	}
	if w, ok := s.window(name); ok && w.Unit != "" {
		return w.Unit
	}
	return features[name].unit
}

// PrintedWindow is the window of a feature as the manual prints it, "9 to
// 14 lbf·in"; "" where there is none or it is in the feature's own unit anyway.
func (s Sheet) PrintedWindow(name string) string {
	w, ok := s.window(name)
	if !ok || w.Unit == "" || w.Unit == features[name].unit {
		return ""
	}
	switch {
	case w.Lower != nil && w.Upper != nil:
		return shortest(*w.Lower) + " to " + shortest(*w.Upper) + " " + w.Unit
	case w.Upper != nil:
		return "at most " + shortest(*w.Upper) + " " + w.Unit
	case w.Lower != nil:
		return "at least " + shortest(*w.Lower) + " " + w.Unit
	}
	return ""
}

func shortest(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
