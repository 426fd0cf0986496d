package logger

import (
	"cmp"
	"math"
	"slices"

	"crownlog/analysis"
)

// Points returns the standing values of a feature in a stage, one a position,
// the latest where there are several, in order of position. Captures without
// a value are left out. Backlash is in the terms of the sheet.
func Points(s Sheet, cs []Capture, stage, name string) []analysis.RoundPoint {
	return latestPoints(s.InTerms(Standing(cs, stage, name)), func(c Capture) bool { return c.Position > 0 })
}

// latestPoints makes points of the captures wanted, the latest of each
// position, in order of position.
func latestPoints(cs []Capture, wanted func(Capture) bool) []analysis.RoundPoint {
	latest := make(map[int]analysis.RoundPoint)
	for _, c := range cs {
		if wanted(c) && !math.IsNaN(c.Value) {
			latest[c.Position] = analysis.RoundPoint{
				Position: c.Position, AngleDeg: c.AngleDeg, Value: c.Value, U: c.U,
			}
		}
	}
	points := make([]analysis.RoundPoint, 0, len(latest))
	for _, p := range latest {
		points = append(points, p)
	}
	slices.SortFunc(points, func(a, b analysis.RoundPoint) int { return cmp.Compare(a.Position, b.Position) })
	return points
}

// RunoutOf measures run-out from the standing captures of a feature in a
// stage: from its points, or from the capture of a continuous turn, which has
// position 0 and knows only the full indicator movement. It is false when
// there is neither.
func RunoutOf(s Sheet, cs []Capture, stage, name string) (analysis.Runout, bool) {
	if points := Points(s, cs, stage, name); len(points) >= 3 {
		return runoutOfPoints(points, s.runoutOptions()), true
	}
	for _, c := range slices.Backward(Standing(cs, stage, name)) {
		if c.Position == 0 {
			return analysis.Runout{FIM: c.Value, FIMU: c.U, Turns: float64(c.N), ResidualSD: math.NaN(), FIMIfReseated: math.NaN()}, true
		}
	}
	return analysis.Runout{}, false
}

func runoutOfPoints(points []analysis.RoundPoint, o analysis.RunoutOptions) analysis.Runout {
	at := make([]analysis.RunoutPoint, len(points))
	for i, p := range points {
		at[i] = analysis.RunoutPoint{AngleDeg: p.AngleDeg, Value: p.Value}
	}
	return analysis.MeasureRunout(at, o)
}

// PatternOf returns the contact entered for pattern-drive or pattern-coast,
// false until both its places are there.
func PatternOf(cs []Capture, stage, name string) (analysis.Contact, bool) {
	p := Points(Sheet{}, cs, stage, name)
	if len(p) < 2 {
		return analysis.Contact{}, false
	}
	return analysis.Contact{Along: p[0].Value, Up: p[1].Value}, true
}
