package report

import (
	"math"

	"crownlog/logger"
)

// moves lists the adjuster moves with the mean backlash measured before and
// after each, as far as it was measured in the same stage.
func (b builder) moves() []Move {
	var moves []Move
	segment := map[int]logger.Capture{} // by position, since the last move or change of stage
	stage, net := "", 0.0
	for _, c := range b.all {
		if c.Feature != logger.FeatureMove && c.Feature != logger.FeatureBacklash {
			continue
		}
		if c.Stage != stage {
			closeMove(moves, segment, stage)
			segment, stage = map[int]logger.Capture{}, c.Stage
		}
		if c.Feature == logger.FeatureBacklash {
			keepBacklash(segment, c)
			continue
		}
		if math.IsNaN(c.Value) {
			continue
		}
		net += c.Value
		closeMove(moves, segment, stage)
		moves = append(moves, Move{
			Time: c.Time, Stage: stage, Amount: c.Value, Unit: c.Unit, Net: net,
			Before: meanOf(segment), After: math.NaN(), Note: c.Note,
		})
		segment = map[int]logger.Capture{}
	}
	closeMove(moves, segment, stage)
	return moves
}

// keepBacklash makes c the value of its position, or takes back the one it
// supersedes.
func keepBacklash(segment map[int]logger.Capture, c logger.Capture) {
	for position, old := range segment {
		if old.ID == c.Supersedes && c.Supersedes != 0 {
			delete(segment, position)
		}
	}
	if c.Quality != logger.QualityRejected && !math.IsNaN(c.Value) {
		segment[c.Position] = c
	}
}

// closeMove gives the last move the mean measured after it in its stage.
func closeMove(moves []Move, segment map[int]logger.Capture, stage string) {
	if n := len(moves); n > 0 && moves[n-1].Stage == stage && math.IsNaN(moves[n-1].After) {
		moves[n-1].After = meanOf(segment)
	}
}

// meanOf is the mean value of a segment, NaN of an empty one. It adds up by
// position, so that the same captures always give the same digits.
func meanOf(segment map[int]logger.Capture) float64 {
	sum, top := 0.0, 0
	for position := range segment {
		top = max(top, position)
	}
	for position := 0; position <= top; position++ {
		if c, ok := segment[position]; ok {
			sum += c.Value
		}
	}
	return sum / float64(len(segment))
}
