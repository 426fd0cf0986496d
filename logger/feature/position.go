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
const defaultPositions, defaultCycles = 8, 10

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
func cycles(s sheet.Sheet, _ string) []record.Position {
	labels := make([]string, cmp.Or(s.Engagement.Cycles, defaultCycles))
	for i := range labels {
		labels[i] = fmt.Sprintf("cycle %d", i+1)
	}
	return placesCalled(labels...)
}

// placesCalled are places at no angle, by their labels.
func placesCalled(labels ...string) []record.Position {
	ps := make([]record.Position, len(labels))
	for i, label := range labels {
		ps[i] = record.Position{Index: i + 1, AngleDeg: math.NaN(), Label: label}
	}
	return ps
}

// leastPlaces is how few places round the wheel still show its once per turn
// (three numbers, and one to tell them from a slip).
const leastPlaces = 4

// wheelPositions spaces the sheet's count evenly, or goes by whole pinion
// turns: each turn brings the same pinion tooth into mesh again and moves the
// wheel on by as many teeth as the pinion has. Where these give too few places
// it goes by half turns, to the nearest whole tooth: 41:14 has three whole ones.
func wheelPositions(s sheet.Sheet, name string) []record.Position {
	pinion, wheel := s.GearSet.PinionTeeth, s.GearSet.WheelTeeth
	turn, ratio := 1.0, float64(wheel)/float64(pinion)
	// No axle has a pinion nearly as large as the wheel.
	if s.Positions > 0 || pinion <= 0 || wheel <= 0 || math.Round(2*ratio) < leastPlaces {
		return runoutPositions(s, name)
	}
	if math.Round(ratio) < leastPlaces {
		turn = 0.5
	}
	ps := make([]record.Position, int(math.Round(ratio/turn)))
	for i := range ps {
		teeth := math.Round(float64(i*pinion) * turn)
		ps[i] = wheelPosition(i, 360*teeth/float64(wheel))
		ps[i].PinionTurns, ps[i].Tooth = turn, 1+int(teeth)
	}
	return ps
}

// runoutPositions go by the angle whatever the teeth: a face has none. The
// tooth nearest to it is still what a fitter finds.
func runoutPositions(s sheet.Sheet, _ string) []record.Position {
	ps := evenPositions(cmp.Or(max(0, s.Positions), defaultPositions))
	for i := range ps {
		if wheel := s.GearSet.WheelTeeth; wheel > 0 {
			ps[i].Tooth = 1 + int(math.Round(ps[i].AngleDeg*float64(wheel)/360))%wheel
		}
	}
	return ps
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
