package feature

import (
	"cmp"
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/setup"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// Points returns the standing values of a feature in a stage, one a position,
// the latest where there are several, in order of position. Captures without
// a value are left out. Backlash is in the terms of the sheet.
func Points(s sheet.Sheet, cs []record.Capture, stage, name string) []analysis.RoundPoint {
	return latestPoints(s.ConvertAll(record.Valid(cs, stage, name)), func(c record.Capture) bool { return c.Position > 0 })
}

// latestPoints makes points of the captures wanted, the latest of each
// position, in order of position.
func latestPoints(cs []record.Capture, wanted func(record.Capture) bool) []analysis.RoundPoint {
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

// PatternOf returns the contact entered for pattern-drive or pattern-coast,
// false until both its places are there.
func PatternOf(cs []record.Capture, stage, name string) (setup.Contact, bool) {
	p := Points(sheet.Sheet{}, cs, stage, name)
	if len(p) < 2 {
		return setup.Contact{}, false
	}
	return setup.Contact{Along: p[0].Value, Up: p[1].Value}, true
}
