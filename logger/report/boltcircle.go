package report

import (
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/logger"
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
	target, tolerance := list.TargetNm(), list.Tolerance()
	c := BoltCircle{
		Stage: stage, Feature: feature, Title: logger.FeatureTitle(feature), List: list, Target: target,
		Lower: target * (1 - tolerance), Upper: target * (1 + tolerance), Format: torqueFormat,
	}
	for _, number := range list.Order() {
		c.Bolts = append(c.Bolts, b.bolt(cs, number, c))
	}
	c.Verdict = worst(c.Bolts, func(b Bolt) analysis.Verdict { return b.Verdict })
	return c, true
}

// bolt is the final torque of one bolt.
func (b builder) bolt(cs []logger.Capture, number int, c BoltCircle) Bolt {
	bolt := Bolt{Number: number, Torque: math.NaN(), U: math.NaN()}
	for _, k := range cs {
		if k.Position != number {
			continue
		}
		bolt.Pulls++
		if !k.Pass.Final() {
			continue
		}
		bolt.Torque, bolt.U, bolt.Quality = k.Value, coverage*k.U, k.Quality
		bolt.Verdict = analysis.Judge(k.Value, k.U, analysis.Limits{Lower: c.Lower, Upper: c.Upper, Unit: "N·m"}).Verdict
	}
	return bolt
}

// worst is the verdict of a whole: outside if any part is, then not decided,
// then too close to call; inside only if every part is.
func worst[T any](parts []T, verdict func(T) analysis.Verdict) analysis.Verdict {
	order := []analysis.Verdict{analysis.Inside, analysis.TooClose, analysis.NotDecided, analysis.Outside}
	rank := -1
	for _, p := range parts {
		rank = max(rank, slices.Index(order, verdict(p)))
	}
	if rank < 0 {
		return analysis.NotDecided
	}
	return order[rank]
}
