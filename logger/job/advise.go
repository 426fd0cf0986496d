package job

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// AdviseMove says how to move the adjusters after the latest backlash round,
// with the gain learned from every recorded move that has a round before and
// after it. It fails when there is no backlash at all, or none since the latest
// move. A used gear set is led back to its as-found mean, by the sheet's aim,
// while the backlash is being set; once the caps are torqued and the readings lie inside the window,
// it is left alone.
func AdviseMove(s sheet.Sheet, cs []record.Capture) (setup.Advice, error) {
	rounds, moved := backlashHistory(s, cs)
	switch {
	case len(rounds) == 0:
		return setup.Advice{}, errors.New("no backlash is measured yet")
	case len(moved) > 0:
		return setup.Advice{}, errors.New("the backlash is not measured since the adjusters were moved")
	}
	last, j := rounds[len(rounds)-1], Job{Sheet: s, Captures: cs}
	if last.other != "" {
		return setup.Advice{}, errors.New("the backlash was " + last.other)
	}
	spec, o := j.aim(s.Window(record.FeatureBacklash))
	if shift, _, ok := j.capShift(); ok && last.stage == record.StageSetUp { // as they are to be with the caps snug
		spec.Limits.Lower, spec.Limits.Upper = spec.Limits.Lower-shift, spec.Limits.Upper-shift
		spec.Floor, o.AsFound = spec.Floor-shift, o.AsFound-shift
	}
	factors := s.WindowFactors(record.FeatureBacklash)
	if o.Beyond {
		factors = []float64{1} // round a backlash that was read as this one was
	}
	round := setup.AnalyseConventions(last.points, len(feature.Positions(s, record.FeatureBacklash)), spec, factors)
	if round.Why.Reason == gum.OneConventionOnly {
		return setup.Advice{}, errors.New("no move can be advised: " + feature.ReasonWords(round.Why.Reason))
	}
	if last.stage == record.StageAsFound || capped(last.stage) && round.Verdict == gum.Inside && !o.Beyond {
		o.AsFound = math.NaN()
	}
	model := startModel(s)
	replay(model, rounds, nil)
	a := model.Advise(round, spec, o)
	a.Capped = capped(last.stage)
	return a, nil
}

// AsAdvised is the move of an advice as it is recorded, without its Unit.
func AsAdvised(a setup.Advice) record.Move {
	return record.Move{Near: a.Near.By, Far: a.Far.By, Note: "as advised"}
}

// A MoveResult is what was moved between two backlash rounds, with what it did.
type MoveResult struct {
	Recorded []record.Capture // the moves, in order
	Stage    string           // of the last of them
	Move     setup.Move       // all of them as one; Before or After is NaN where it was not measured in this stage
	Advised  float64          // mean backlash the model expected after it, mm, from what was known before; NaN: nothing to go by
	U        float64          // standard uncertainty of that
	Learned  bool             // the move was used to sharpen the gain
}

// MoveHistory lists the adjuster moves that stand, in order, with the
// prediction against what happened.
func MoveHistory(s sheet.Sheet, cs []record.Capture) []MoveResult {
	rounds, moved := backlashHistory(s, cs)
	return replay(startModel(s), rounds, moved)
}

// Told is what a move was expected to give, and what it gave, "+1: expected 0.189 ±
// 0.012, got 0.186 mm".
func (m MoveResult) Told(length words.Length) string {
	text := fmt.Sprintf("%+g: ", m.Move.Steps)
	if math.IsNaN(m.Move.After) {
		return text + "not measured since"
	}
	got := length(m.Move.After)
	if !math.IsNaN(m.Advised) {
		unit := got[strings.LastIndexByte(got, ' '):] // is said once
		text += "expected " + strings.TrimSuffix(length(m.Advised, gum.Coverage*m.U), unit) + ", "
	}
	return text + "got " + got
}

// replay lets the model learn from the history and tells what it expected of
// each move.
func replay(model *setup.AdjusterModel, rounds []backlashRound, moved []record.Capture) []MoveResult {
	var results []MoveResult
	var before backlashRound
	for _, after := range append(rounds, backlashRound{moved: moved}) {
		if len(after.moved) > 0 {
			res, alike := newMoveResult(before, after)
			if alike {
				change, u := model.Expect(res.Move)
				res.Advised, res.U = res.Move.Before+change, math.Hypot(u, res.Move.BeforeU)
				res.Learned = model.Learn(res.Move)
			}
			results = append(results, res)
		}
		before = after
	}
	return results
}

// newMoveResult is what was moved before a round, with the backlash of the round
// before it and of itself over the positions that both have. Rounds of two
// stages, or with the wheel bolted on or the caps torqued between them, differ by
// more than the move: of those, which are not alike, only the round in the stage of
// the move is told.
func newMoveResult(before, after backlashRound) (res MoveResult, alike bool) {
	last := after.moved[len(after.moved)-1]
	res = MoveResult{Recorded: after.moved, Stage: last.Stage, Move: movesAsOne(after.moved), Advised: math.NaN(), U: math.NaN()}
	b, a := commonPoints(before.points, after.points)
	alike = before.stage == after.stage && before.build == after.build && before.other+after.other == "" && len(b) > 0
	if !alike {
		b, a = before.in(res.Stage), after.in(res.Stage)
	}
	res.Move.Before, res.Move.BeforeU = meanPoint(b)
	res.Move.After, res.Move.AfterU = meanPoint(a)
	return res, alike
}

// startModel begins with the sheet's gain, or the geometry's, or the usual one. A
// quarter of it is the standard uncertainty: the first move that is measured
// then outweighs it.
func startModel(s sheet.Sheet) *setup.AdjusterModel {
	if g := math.Abs(s.Adjuster.BacklashPerNotch); g > 0 {
		return setup.NewAdjusterModel(g, g/4)
	}
	perMM, err := s.AxialGain()
	if err != nil {
		perMM = setup.UsualAxialGain
	}
	size, sd := perMM, perMM/4
	if s.Adjuster.Kind != "shims" {
		var noTravel error
		if size, sd, noTravel = setup.GainFromGeometry(s.Adjuster.PitchMM, s.Adjuster.Notches, perMM); noTravel != nil {
			return setup.NewAdjusterModel(setup.UsualNotchGain, setup.UsualNotchGainU)
		}
	}
	if err != nil {
		sd = math.Hypot(sd, size*setup.UsualAxialGainU/setup.UsualAxialGain)
	}
	return setup.NewAdjusterModel(size, sd)
}

// A backlashRound is what was measured between two moves or changes of stage.
type backlashRound struct {
	stage  string
	build  int // rounds of the same build differ by the adjusters only
	points []analysis.RoundPoint
	moved  []record.Capture // the moves since the round before
	other  string           // why it cannot be compared with others; "": it can
}

// in is the round's points where it was measured in a stage.
func (r backlashRound) in(stage string) []analysis.RoundPoint {
	if r.stage != stage {
		return nil
	}
	return r.points
}

// backlashHistory takes the captures apart into rounds, and the moves after the last. A round ends where the
// adjusters are moved or another stage begins; within it a later capture of a
// position replaces the earlier one. What was taken back is left out, but not
// what a later round superseded. Another build begins where the crown wheel was
// bolted on, or the caps were torqued for the first time.
func backlashHistory(s sheet.Sheet, cs []record.Capture) (rounds []backlashRound, moved []record.Capture) {
	var segment []record.Capture // of the round under way
	stage, build, capped := "", 0, false
	undone := rejected(cs)
	flush := func() {
		if points := feature.Points(s, segment, stage, record.FeatureBacklash); len(points) > 0 {
			rounds = append(rounds, backlashRound{stage, build, points, moved, s.Unconvertible(segment)})
			moved = nil
		}
		segment = nil
	}
	for _, c := range cs {
		switch {
		case undone[c.ID]:
		case c.Feature == record.FeatureMove:
			flush()
			moved = append(moved, c)
		case c.Feature == record.FeatureBacklash:
			if c.Stage != stage {
				flush()
			}
			stage, segment = c.Stage, append(segment, c)
		case c.Feature == record.FeatureWheelBolts, c.Feature == record.FeatureCapBolts && !capped:
			flush()
			build++
			capped = c.Feature == record.FeatureCapBolts
		}
	}
	flush()
	return rounds, moved
}

// rejected are the IDs of rejections and of what they take back.
func rejected(cs []record.Capture) map[int]bool {
	gone := make(map[int]bool)
	for _, c := range cs {
		if c.Quality == record.QualityRejected {
			gone[c.ID], gone[c.Supersedes] = true, true
		}
	}
	return gone
}

// movesAsOne sums moves up. Those that cannot teach the gain say so: to turn back
// both sides, or to finish by slackening one, leaves lost motion in them.
func movesAsOne(moves []record.Capture) setup.Move {
	var m setup.Move
	slackened := false
	for _, c := range moves {
		near, far := c.Sides()
		uneven := near + far
		slackened = uneven < 0
		m.Unseated = m.Unseated || c.Unseated
		m.Reversed = m.Reversed || c.Reversed || uneven == 0 && m.Steps*c.Value < 0
		m.Steps += c.Value
		m.Uneven += uneven
	}
	m.Reversed = m.Reversed || slackened
	return m
}

// commonPoints are the points at the positions that both rounds have.
func commonPoints(before, after []analysis.RoundPoint) (b, a []analysis.RoundPoint) {
	for _, p := range before {
		k := slices.IndexFunc(after, func(q analysis.RoundPoint) bool { return q.Position == p.Position })
		if k >= 0 {
			b, a = append(b, p), append(a, after[k])
		}
	}
	return b, a
}

// meanPoint is the mean of points and its standard uncertainty; NaN without any.
func meanPoint(points []analysis.RoundPoint) (mean, u float64) {
	n, variance := float64(len(points)), 0.0
	for _, p := range points {
		mean += p.Value
		variance += p.U * p.U
	}
	return mean / n, math.Sqrt(variance) / n
}
