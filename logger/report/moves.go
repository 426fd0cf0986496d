package report

import (
	"math"

	"crownlog/analysis/gum"
	"crownlog/logger/job"
)

// moves lists the adjuster moves that stand with the mean backlash before and
// after, what was expected of them, and what came of it. Moves made one after
// the other share the figures: the first has what was before, the last what
// came after.
func (b builder) moves() []Move {
	var moves []Move
	net := 0.0
	for _, res := range job.MoveHistory(b.sheet, b.all) {
		for i, c := range res.Recorded {
			if !math.IsNaN(c.Value) { // of a line that was lost
				net += c.Value
			}
			m := Move{
				Time: c.Time, Stage: c.Stage, Amount: c.Value, Unit: c.Unit, Net: net, Note: c.NoteText(),
				Before: math.NaN(), After: math.NaN(), Expected: math.NaN(), ExpectedU: math.NaN(),
			}
			if i == 0 {
				m.Before = res.Move.Before
			}
			if i == len(res.Recorded)-1 {
				m.After, m.Expected, m.ExpectedU = res.Move.After, res.Advised, gum.Coverage*res.U
			}
			moves = append(moves, m)
		}
	}
	return moves
}
