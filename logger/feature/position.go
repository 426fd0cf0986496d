package feature

import (
	"fmt"
	"math"

	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// defaultPositions is how many places are visited when neither the sheet nor
// the tooth counts say.
const defaultPositions = 8

// boltPositions are the bolts of a feature.
func boltPositions(s sheet.Sheet, name string) []record.Position {
	b, _ := s.BoltList(name)
	ps := evenPositions(b.Count)
	for i := range ps {
		ps[i].Label = fmt.Sprintf("bolt %d", i+1)
	}
	return ps
}

func WholeFeature(name string) record.Position {
	return record.Position{AngleDeg: math.NaN(), Label: record.Title(name)}
}

// wheelPositions spaces the sheet's count evenly, or goes by whole pinion
// turns: each turn brings the same pinion tooth into mesh again and moves the
// wheel on by as many teeth as the pinion has.
func wheelPositions(s sheet.Sheet) []record.Position {
	pinion, wheel := s.GearSet.PinionTeeth, s.GearSet.WheelTeeth
	if s.Positions > 0 {
		return evenPositions(s.Positions)
	}
	if pinion <= 0 || wheel <= 0 {
		return evenPositions(defaultPositions)
	}
	n := max(3, int(math.Round(float64(wheel)/float64(pinion))))
	ps := make([]record.Position, n)
	for i := range ps {
		angle := math.Mod(360*float64(i*pinion)/float64(wheel), 360)
		ps[i] = record.Position{Index: i + 1, AngleDeg: units.RoundTo(angle, 1e-4), Label: angleLabel(angle), PinionTurns: 1}
	}
	return ps
}

func runoutPlaces(s sheet.Sheet) int {
	if s.Positions > 0 {
		return s.Positions
	}
	return defaultPositions
}

func cycles(s sheet.Sheet) []record.Position {
	n := s.Engagement.Cycles
	if n == 0 {
		n = 10
	}
	ps := make([]record.Position, n)
	for i := range ps {
		ps[i] = record.Position{Index: i + 1, AngleDeg: math.NaN(), Label: fmt.Sprintf("cycle %d", i+1)}
	}
	return ps
}

func evenPositions(n int) []record.Position {
	ps := make([]record.Position, n)
	for i := range ps {
		angle := 360 * float64(i) / float64(n)
		ps[i] = record.Position{Index: i + 1, AngleDeg: units.RoundTo(angle, 1e-4), Label: angleLabel(angle)}
	}
	return ps
}

func angleLabel(deg float64) string { return fmt.Sprintf("%.0f°", deg) }
