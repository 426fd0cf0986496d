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
	assert.Equal(t, record.Position{Index: 4, AngleDeg: 135, Label: "135°"}, Positions(s, record.FeatureBacklash)[3])
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
