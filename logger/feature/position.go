package feature

import (
	"cmp"
	"fmt"
	"math"

	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// What is usual where neither the sheet nor the tooth counts say.
const (
	defaultPositions = 8
	defaultCycles    = 10
)

// WholeFeature is the one place of a feature that is measured as a whole.
func WholeFeature(name string) record.Position {
	return record.Position{AngleDeg: math.NaN(), Label: record.Title(name)}
}

// boltPositions are the bolts of a feature.
func boltPositions(s sheet.Sheet, name string) []record.Position {
	b, _ := s.BoltList(name)
	ps := evenPositions(b.Count)
	for i := range ps {
		ps[i].Label = fmt.Sprintf("bolt %d", i+1)
	}
	return ps
}

// cycles are the tries of the lock, at no angle.
func cycles(s sheet.Sheet) []record.Position {
	ps := evenPositions(cmp.Or(s.Engagement.Cycles, defaultCycles))
	for i := range ps {
		ps[i].AngleDeg, ps[i].Label = math.NaN(), fmt.Sprintf("cycle %d", i+1)
	}
	return ps
}

// wheelPositions spaces the sheet's count evenly, or goes by whole pinion
// turns: each turn brings the same pinion tooth into mesh again and moves the
// wheel on by as many teeth as the pinion has.
func wheelPositions(s sheet.Sheet) []record.Position {
	pinion, wheel := s.GearSet.PinionTeeth, s.GearSet.WheelTeeth
	if s.Positions > 0 || pinion <= 0 || wheel <= 0 {
		return runoutPositions(s)
	}
	ps := make([]record.Position, max(3, int(math.Round(float64(wheel)/float64(pinion)))))
	for i := range ps {
		ps[i] = wheelPosition(i, math.Mod(360*float64(i*pinion)/float64(wheel), 360))
		ps[i].PinionTurns = 1
	}
	return ps
}

// runoutPositions go by the angle whatever the teeth: a face has none.
func runoutPositions(s sheet.Sheet) []record.Position {
	return evenPositions(cmp.Or(max(0, s.Positions), defaultPositions))
}

func evenPositions(n int) []record.Position {
	ps := make([]record.Position, n)
	for i := range ps {
		ps[i] = wheelPosition(i, 360*float64(i)/float64(n))
	}
	return ps
}

func wheelPosition(i int, deg float64) record.Position {
	return record.Position{Index: i + 1, AngleDeg: units.RoundTo(deg, 1e-4), Label: fmt.Sprintf("%.0f°", deg)}
}
