package report

import (
	"math"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
)

// torqueFormat writes bolt torques.
var torqueFormat = Format{Unit: "N·m", Decimals: 1}

// bolts is one bolt circle of a stage.
func (b builder) bolts(stage, feature string) (BoltCircle, bool) {
	cs := b.of(stage, feature)
	list, ok := b.sheet.BoltList(feature)
	if len(cs) == 0 || !ok || list.Count < 1 {
		return BoltCircle{}, false
	}
	a := b.assess(stage, feature)
	c := BoltCircle{
		Stage: stage, Feature: feature, Title: record.Title(feature), List: list, Target: list.TargetNm(),
		Lower: a.Spec.Limits.Lower, Upper: a.Spec.Limits.Upper, Format: torqueFormat,
		Verdict: a.Verdict, Reason: a.Reason(), U: gum.Coverage * a.U,
	}
	pulls := make(map[int]int)
	for _, k := range cs {
		pulls[k.Position]++
	}
	for _, number := range list.Order() {
		bolt := Bolt{Number: number, Torque: math.NaN(), U: math.NaN(), Pulls: pulls[number]}
		for _, p := range a.Results {
			if k := p.Capture; k.Position == number {
				bolt.Torque, bolt.U, bolt.Quality, bolt.Verdict = k.Value, gum.Coverage*k.U, k.Quality, p.Verdict
			}
		}
		c.Bolts = append(c.Bolts, bolt)
	}
	return c, true
}
