package logger

import (
	"errors"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
)

// AdviseMove says how to move the adjusters after the latest backlash round,
// with the gain learned from every recorded move that has a round before and
// after it. It fails when there is no backlash at all. A used gear set is led
// back to its as-found mean while the backlash is being set; once the caps are
// torqued and the readings lie inside the window, it is left alone.
func AdviseMove(s Sheet, cs []Capture) (analysis.Advice, error) {
	history := backlashHistory(cs)
	if len(history) == 0 {
		return analysis.Advice{}, errors.New("no backlash is measured yet")
	}
	last := history[len(history)-1]
	spec := s.Window(FeatureBacklash)
	round := analysis.AnalyseRound(last.points, len(s.PositionList(FeatureBacklash)), spec)
	o := analysis.AdviceOptions{Shims: s.Adjuster.Kind == "shims", AsFound: math.NaN()}
	found := JudgeRound(s, cs, StageAsFound, FeatureBacklash)
	closed := round.Verdict == analysis.Inside && (last.stage == StageCaps || last.stage == StageFinal)
	if s.GearSet.Used && last.stage != StageAsFound && found.N > 0 && !closed {
		o.AsFound = found.Mean
	}
	return learnedModel(s, history).Advise(round, spec, o), nil
}

// A MoveResult is a recorded move with what it did.
type MoveResult struct {
	Stage   string
	Move    analysis.Move
	Advised float64 // mean backlash the model expected after it, mm, from what was known before
	U       float64 // standard uncertainty of that
	Learned bool    // the move was used to sharpen the gain
}

// MoveHistory lists the recorded moves that have a round before and after
// them, with the prediction against what happened, in order.
func MoveHistory(s Sheet, cs []Capture) []MoveResult {
	model := startModel(s)
	var results []MoveResult
	history := backlashHistory(cs)
	for i := 1; i < len(history); i++ {
		move, ok := moveBetween(history[i-1], history[i])
		if !ok {
			continue
		}
		gain, gainU, _ := model.Gain()
		res := MoveResult{Stage: history[i].stage, Move: move,
			Advised: move.Before + gain*move.Steps, U: math.Hypot(gainU*move.Steps, move.BeforeU)}
		res.Learned = model.Learn(move)
		results = append(results, res)
	}
	return results
}

func learnedModel(s Sheet, history []backlashRound) *analysis.AdjusterModel {
	model := startModel(s)
	for i := 1; i < len(history); i++ {
		if move, ok := moveBetween(history[i-1], history[i]); ok {
			model.Learn(move)
		}
	}
	return model
}

// startModel begins with the sheet's gain, or the geometry's, or the usual one.
func startModel(s Sheet) *analysis.AdjusterModel {
	if g := math.Abs(s.Adjuster.BacklashPerNotch); g > 0 {
		return analysis.NewAdjusterModel(g, g/4)
	}
	perMM, err := s.axialGain()
	switch {
	case s.Adjuster.Kind == "shims" && err != nil:
		return analysis.NewAdjusterModel(usualAxialGain, usualAxialGainU)
	case s.Adjuster.Kind == "shims":
		return analysis.NewAdjusterModel(perMM, perMM/4)
	case err != nil:
		return analysis.NewAdjusterModel(analysis.UsualNotchGain, analysis.UsualNotchGainU)
	}
	size, sd, err := analysis.GainFromGeometry(s.Adjuster.PitchMM, s.Adjuster.Notches, perMM)
	if err != nil {
		return analysis.NewAdjusterModel(analysis.UsualNotchGain, analysis.UsualNotchGainU)
	}
	return analysis.NewAdjusterModel(size, sd)
}

// A backlashRound is what was measured between two moves or changes of stage.
type backlashRound struct {
	stage  string
	points []analysis.RoundPoint
	moved  []Capture // the moves since the round before
}

// backlashHistory takes the captures apart into rounds, in order. A round ends
// where the adjusters are moved or another stage begins; within it a later
// capture of a position replaces the earlier one.
func backlashHistory(cs []Capture) []backlashRound {
	var history []backlashRound
	var segment, moves []Capture
	undone := rejectedMoves(cs)
	flush := func() {
		if points := segmentPoints(segment); len(points) > 0 {
			history = append(history, backlashRound{stage: segment[0].Stage, points: points, moved: moves})
			moves = nil
		}
		segment = nil
	}
	for _, c := range cs {
		switch {
		case c.Feature == FeatureMove && !undone[c.ID] && c.Quality != QualityRejected:
			flush()
			moves = append(slices.Clip(moves), c)
		case c.Feature == FeatureBacklash:
			if len(segment) > 0 && segment[0].Stage != c.Stage {
				flush()
			}
			segment = append(segment, c)
		}
	}
	flush()
	return history
}

// rejectedMoves are the moves that a later line supersedes.
func rejectedMoves(cs []Capture) map[int]bool {
	gone := make(map[int]bool)
	for _, c := range cs {
		if c.Feature == FeatureMove && c.Supersedes > 0 {
			gone[c.Supersedes] = true
		}
	}
	return gone
}

func segmentPoints(segment []Capture) []analysis.RoundPoint {
	if len(segment) == 0 {
		return nil
	}
	return Points(segment, segment[0].Stage, FeatureBacklash)
}

// moveBetween is the move that led from one round to the next, over the
// positions that both have. Moves that cannot teach the gain say so.
func moveBetween(before, after backlashRound) (analysis.Move, bool) {
	if len(after.moved) == 0 {
		return analysis.Move{}, false
	}
	m := analysis.Move{}
	for _, c := range after.moved {
		if m.Steps*c.Value < 0 {
			m.Reversed = true
		}
		m.Steps += c.Value
		m.Unseated = m.Unseated || strings.HasPrefix(c.Note, "not seated")
		m.Reversed = m.Reversed || strings.HasPrefix(c.Note, "reversed")
	}
	var n, varBefore, varAfter float64
	for _, b := range before.points {
		k := slices.IndexFunc(after.points, func(a analysis.RoundPoint) bool { return a.Position == b.Position })
		if k < 0 {
			continue
		}
		a := after.points[k]
		n++
		m.Before += b.Value
		m.After += a.Value
		varBefore += b.U * b.U
		varAfter += a.U * a.U
	}
	if n == 0 {
		return analysis.Move{}, false
	}
	m.Before, m.After = m.Before/n, m.After/n
	m.BeforeU, m.AfterU = math.Sqrt(varBefore)/n, math.Sqrt(varAfter)/n
	return m, true
}
