package logger

import (
	"fmt"
	"strings"

	"crownlog/analysis"
)

// JudgeRound analyses the standing captures of a feature in a stage against
// the sheet's window, as the round that made them does: bolts by their last
// pass, a run-out by its full indicator movement, a feature measured as a
// whole as a round of one position, a contact pattern by what both its flanks
// ask for. A backlash measured with a plunger set in
// another way than the sheet says is converted, or else not decided.
func JudgeRound(s Sheet, cs []Capture, stage, name string) analysis.Round {
	if name == FeatureEngagement {
		return judgeTries(Standing(cs, stage, name), len(s.PositionList(name)), s.Window(name))
	}
	kind := kindOf(name)
	positions := len(s.PositionList(name))
	standing := Standing(cs, stage, name)
	points := latestPoints(s.InTerms(standing), func(c Capture) bool {
		return kind != kindBolts || finalPull(c)
	})
	if len(points) == 0 && EmptiedByMove(cs, stage, name) {
		round := analysis.AnalyseRound(nil, positions, s.Window(name))
		round.Reason = "not measured since the adjusters were moved"
		return round
	}
	whole := false
	for i := range points {
		if points[i].Position == 0 {
			points[i].Position, points[i].AngleDeg, whole = 1, 0, true
		}
	}
	if whole && kind == kindRunout { // a continuous turn, and no points beside it
		points, positions = points[:1], 1
	}
	round := judgePoints(points, positions, s.Window(name), s.windowFactors(name), kind == kindRunout && !whole, s.runoutOptions())
	round.Reason = placeWords(kind, round.Reason)
	if kind == kindPattern {
		round.Verdict = contactVerdict(s, cs, stage)
	}
	if why := s.OtherTerms(standing); why != "" {
		round.Verdict, round.Reason = analysis.NotDecided, why
	}
	return round
}

// placeWords calls the positions of bolts bolts.
func placeWords(kind featureKind, reason string) string {
	if kind != kindBolts {
		return reason
	}
	return strings.ReplaceAll(reason, "position", "bolt")
}

// judgePoints sums up a round; factors are those of windowFactors. The single points of a run-out have no limits:
// its window is for the full indicator movement, once all points are there.
func judgePoints(points []analysis.RoundPoint, positions int, spec analysis.RoundSpec, factors []float64, runout bool, o analysis.RunoutOptions) analysis.Round {
	if !runout {
		return analysis.AnalyseConventions(points, positions, spec, factors)
	}
	round := analysis.AnalyseRound(points, positions, openSpec(spec.Limits.Unit))
	if len(round.Missing) > 0 || len(points) < 3 {
		return round
	}
	run := runoutOfPoints(points, o)
	d := analysis.Judge(run.FIM, run.FIMU, spec.Limits)
	round.Verdict = d.Verdict
	round.Reason = fmt.Sprintf("full indicator movement %.3f %s", run.FIM, spec.Limits.Unit)
	if d.Verdict == analysis.NotDecided && spec.Limits.Any() {
		round.Reason += " " + d.Reason
	}
	return round
}
