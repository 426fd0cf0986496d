package feature

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestPositions(t *testing.T) {
	s := sheet.Example()
	assert.Equal(t, record.Position{Index: 4, AngleDeg: 135, Label: "135°", Tooth: 17}, Positions(s, record.FeatureBacklash)[3])
	s.Positions = 0
	byTurns := Positions(s, record.FeatureBacklash)
	require.Len(t, byTurns, 4)
	assert.InDelta(t, 92.0930, byTurns[1].AngleDeg, 1e-4, "11 of 43 teeth")
	assert.Len(t, Positions(s, record.FeatureRunoutBackFace), 8, "a run-out needs eight places for its warp")
	assert.Equal(t, "bolt 7", Positions(s, record.FeatureWheelBolts)[6].Label)
	assert.Equal(t, 0, Positions(s, record.FeaturePreloadTotal)[0].Index)
	for i, v := range table[record.FeatureBacklash].VisitsOf(s, byTurns) {
		assert.Equal(t, Visit{Position: byTurns[i], Place: i, Final: true}, v)
	}
}

func TestPositionsTheSheetLeavesOut(t *testing.T) {
	assert.Len(t, Positions(sheet.Sheet{}, record.FeatureBacklash), 8)
	assert.Len(t, Positions(sheet.Sheet{GearSet: sheet.GearSet{PinionTeeth: 11}}, record.FeatureBacklash), 8)
	cycles := Positions(sheet.Sheet{}, record.FeatureEngagement)
	assert.Len(t, cycles, 10)
	assert.Equal(t, "cycle 10", cycles[9].Label)
	assert.Len(t, Positions(sheet.Sheet{Engagement: sheet.Engagement{Cycles: 3}}, record.FeatureEngagement), 3)
	assert.Equal(t, "up", Positions(sheet.Sheet{}, record.FeaturePatternCoast)[1].Label)
}

// Sets with few whole pinion turns to a turn of the wheel go by half turns, to
// whole teeth: of an odd pinion alternately half a tooth more. Teeth counted by
// hand.
func TestPositionsByHalfPinionTurns(t *testing.T) {
	for _, c := range []struct {
		wheel, pinion int
		turns         float64
		teeth         []int
	}{
		{43, 11, 1, []int{1, 12, 23, 34}},
		{35, 10, 1, []int{1, 11, 21, 31}},
		{41, 14, 0.5, []int{1, 8, 15, 22, 29, 36}},
		{40, 13, 0.5, []int{1, 8, 14, 21, 27, 34}},
		{41, 12, 0.5, []int{1, 7, 13, 19, 25, 31, 37}},
		{20, 18, 0, []int{1, 4, 6, 9, 11, 14, 16, 19}}, // no axle's: even places
	} {
		var teeth []int
		for _, p := range Positions(sheet.Sheet{GearSet: sheet.GearSet{WheelTeeth: c.wheel, PinionTeeth: c.pinion}}, record.FeatureBacklash) {
			teeth = append(teeth, p.Tooth)
			assert.Equal(t, c.turns, p.PinionTurns)
			if c.turns > 0 {
				assert.InDelta(t, float64(p.Tooth-1)*360/float64(c.wheel), p.AngleDeg, 1e-4)
			}
		}
		assert.Equal(t, c.teeth, teeth, "%d:%d", c.wheel, c.pinion)
	}
}
