package job

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/setup"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// setUp measures a whole set-up round at one level of backlash.
func setUp(t *testing.T, store *memory, level float64) {
	t.Helper()
	fill(t, store, record.StageSetUp, record.FeatureBacklash, func(i int) float64 { return level + 0.01*float64(i%2) })
}

func TestAdviseLearnsFromMoves(t *testing.T) {
	store := &memory{}
	sheet := sheet.Example()
	_, err := AdviseMove(sheet, nil)
	require.ErrorContains(t, err, "no backlash")

	setUp(t, store, 0.30)
	first, err := AdviseMove(sheet, store.all)
	require.NoError(t, err)
	assert.True(t, first.Needed)
	assert.False(t, first.SignKnown)

	// On this axle + opens the backlash, by 0.05 a notch.
	_, err = record.AddMove(store, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	setUp(t, store, 0.35)
	second, err := AdviseMove(sheet, store.all)
	require.NoError(t, err)
	assert.True(t, second.SignKnown)
	assert.Positive(t, second.Gain)
	assert.Negative(t, second.Steps, "the other way now")

	_, err = record.AddMove(store, record.StageSetUp, record.Move{Amount: -2, Unit: "notch"}, testTime)
	require.NoError(t, err)
	setUp(t, store, 0.25)
	third, err := AdviseMove(sheet, store.all)
	require.NoError(t, err)
	assert.InDelta(t, 0.05, third.Gain, 0.008)
	assert.Less(t, third.GainU, second.GainU)

	history := MoveHistory(sheet, store.all)
	require.Len(t, history, 2)
	assert.True(t, history[0].Learned)
	assert.True(t, history[1].Learned)
	assert.InDelta(t, 0.25+0.005, history[1].Move.After, 1e-9)
	assert.InDelta(t, history[1].Move.After, history[1].Advised, 3*history[1].U, "predicted from the first move")
}

func TestAdviseLeavesOutBadMoves(t *testing.T) {
	for name, move := range map[string]record.Move{
		"not seated": {Amount: 1, Unit: "notch", Unseated: true, Note: "cup held off"}, "reversed": {Amount: 1, Unit: "notch", Reversed: true},
	} {
		t.Run(name, func(t *testing.T) {
			store := &memory{}
			setUp(t, store, 0.30)
			_, err := record.AddMove(store, record.StageSetUp, move, testTime)
			require.NoError(t, err)
			setUp(t, store, 0.38)
			history := MoveHistory(sheet.Example(), store.all)
			require.Len(t, history, 1)
			assert.False(t, history[0].Learned)
		})
	}
}

func TestUsedSetAimsAtAsFound(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.155))
	setUp(t, store, 0.30)
	a, err := AdviseMove(sheet.Example(), store.all)
	require.NoError(t, err)
	assert.InDelta(t, 0.155, a.Target, 0.006)
	s := sheet.Example()
	s.GearSet.Used = false
	a, err = AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.InDelta(t, 0.165, a.Target, 0.006, "a new set aims at mid-window")
}

func TestNoMoveOnceTheCapsAreTorquedInside(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.140))
	fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.190))
	a, err := AdviseMove(sheet.Example(), store.all)
	require.NoError(t, err)
	require.True(t, a.Needed, "while setting, back to as found")
	fill(t, store, record.StageCaps, record.FeatureBacklash, steady(0.190))
	a, err = AdviseMove(sheet.Example(), store.all)
	require.NoError(t, err)
	assert.False(t, a.Needed, a.Outcome)
}

func TestHistoryIgnoresWhatWasUndone(t *testing.T) {
	store := &memory{}
	keyed(t, store, record.StageSetUp, record.FeatureBacklash, 0.30, 0.30, 0.30, 0.30, 0.30, 0.30, 0.30, 0.99)
	_, err := record.Reject(store, 8, testTime)
	require.NoError(t, err)
	_, err = record.AddMove(store, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	setUp(t, store, 0.24)
	history := MoveHistory(sheet.Example(), store.all)
	require.Len(t, history, 1)
	assert.InDelta(t, 0.30, history[0].Move.Before, 1e-9)
}

// TestLearnsWithinOneStageAndBuild: what a new centre or torqued caps do to the
// backlash says nothing about the adjusters.
func TestLearnsWithinOneStageAndBuild(t *testing.T) {
	move := func(t *testing.T, store *memory, stage string) {
		t.Helper()
		_, err := record.AddMove(store, stage, record.Move{Amount: 1, Unit: "notch"}, testTime)
		require.NoError(t, err)
	}
	tests := map[string]func(t *testing.T, store *memory){
		"a new centre": func(t *testing.T, store *memory) {
			fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.150))
			move(t, store, record.StageSetUp)
			fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.250))
		},
		"caps torqued in the same stage": func(t *testing.T, store *memory) {
			fill(t, store, record.StageCaps, record.FeatureBacklash, steady(0.150))
			move(t, store, record.StageCaps)
			fill(t, store, record.StageCaps, record.FeatureCapBolts, steady(50))
			fill(t, store, record.StageCaps, record.FeatureBacklash, steady(0.250))
		},
		"crown wheel bolted on again": func(t *testing.T, store *memory) {
			fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.150))
			move(t, store, record.StageSetUp)
			fill(t, store, record.StageBench, record.FeatureWheelBolts, steady(50))
			fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.250))
		},
	}
	for name, j := range tests {
		t.Run(name, func(t *testing.T) {
			store := &memory{}
			j(t, store)
			a, err := AdviseMove(sheet.Example(), store.all)
			require.NoError(t, err)
			assert.False(t, a.SignKnown)
			assert.Positive(t, a.Steps, "towards the pinion lessens, as usual")
			history := MoveHistory(sheet.Example(), store.all)
			require.Len(t, history, 1)
			assert.False(t, history[0].Learned)
			assert.True(t, math.IsNaN(history[0].Advised))
			assert.InDelta(t, 0.250, history[0].Move.After, 1e-9)
		})
	}
}

func TestHistoryOfMovesInARowAndOfOneNotMeasuredYet(t *testing.T) {
	store := &memory{}
	setUp(t, store, 0.30)
	for _, amount := range []float64{1, 1, -3} {
		_, err := record.AddMove(store, record.StageSetUp, record.Move{Amount: amount, Unit: "notch"}, testTime)
		require.NoError(t, err)
		if amount == 1 && len(record.Valid(store.all, record.StageSetUp, record.FeatureMove)) == 2 {
			setUp(t, store, 0.24)
		}
	}
	history := MoveHistory(sheet.Example(), store.all)
	require.Len(t, history, 2)
	assert.Len(t, history[0].Recorded, 2)
	assert.InDelta(t, 2, history[0].Move.Steps, 1e-12)
	assert.InDelta(t, 0.245, history[1].Move.Before, 1e-9)
	assert.True(t, math.IsNaN(history[1].Move.After), "not measured yet")
}

func TestHistoryOverThePositionsOfBothRounds(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageSetUp, record.FeatureBacklash, func(i int) float64 { return 0.20 + 0.01*float64(i) })
	_, err := record.AddMove(store, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	keyed(t, store, record.StageSetUp, record.FeatureBacklash, 0.15, 0.16)
	history := MoveHistory(sheet.Example(), store.all)
	require.Len(t, history, 1)
	assert.InDelta(t, 0.205, history[0].Move.Before, 1e-9, "the first two positions alone")
	assert.InDelta(t, 0.155, history[0].Move.After, 1e-9)
}

func TestThreadAndNotchesTellTheNotchWithoutThePressureAngle(t *testing.T) {
	s := sheet.Example()
	s.Adjuster = sheet.Adjuster{Kind: "threaded", PitchMM: 1.5, Notches: 24}
	s.GearSet.PressureAngleDeg = 0
	size, sd, _ := startModel(s).Gain()
	assert.InDelta(t, -1.5/24*setup.UsualAxialGain, size, 1e-12)
	assert.InDelta(t, 0.34, sd/-size, 0.01, "the thread's quarter and the angle's")
	s.Adjuster.Notches = 0
	size, _, _ = startModel(s).Gain()
	assert.Equal(t, -setup.UsualNotchGain, size)
	s.Adjuster = sheet.Adjuster{Kind: "shims"}
	size, sd, _ = startModel(s).Gain()
	assert.Equal(t, -setup.UsualAxialGain, size)
	assert.InDelta(t, math.Hypot(0.65/4, 0.15), sd, 1e-9)
	s.Adjuster.BacklashPerNotch = -0.06
	size, sd, _ = startModel(s).Gain()
	assert.InDelta(t, -0.06, size, 1e-12, "the sheet's own, whatever its sign")
	assert.InDelta(t, 0.015, sd, 1e-12, "a quarter of it")
}

func addMove(t *testing.T, m *memory, stage string) record.Capture {
	t.Helper()
	c, err := record.AddMove(m, stage, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	return c
}

func TestNoAdviceOnWhatCannotBeCompared(t *testing.T) {
	m := &memory{}
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.30))
	s := sheet.Example()
	s.Plunger.Measured, s.GearSet.PressureAngleDeg = "transverse", 0
	_, err := AdviseMove(s, m.all)
	require.EqualError(t, err, "the backlash was measured normal at 106 mm, where job.toml now says transverse at 106 mm: cannot be converted")
	s = sheet.Example()
	s.Plunger.Spec = "unknown"
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.19))
	_, err = AdviseMove(s, m.all)
	require.ErrorContains(t, err, "no move can be advised: normal or transverse backlash decides it")
}

// TestUndoneAfterTheMove: the line that takes something back may come much later.
func TestUndoneAfterTheMove(t *testing.T) {
	m := &memory{}
	keyed(t, m, record.StageSetUp, record.FeatureBacklash, 0.30, 0.30, 0.99)
	addMove(t, m, record.StageSetUp)
	_, err := record.Reject(m, 3, testTime)
	require.NoError(t, err)
	keyed(t, m, record.StageSetUp, record.FeatureBacklash, 0.24, 0.24, 0.24)
	history := MoveHistory(sheet.Example(), m.all)
	require.Len(t, history, 1)
	assert.InDelta(t, 0.30, history[0].Move.Before, 1e-9)
	assert.InDelta(t, 0.24, history[0].Move.After, 1e-9)
	_, err = record.Reject(m, 4, testTime)
	require.NoError(t, err)
	assert.Empty(t, MoveHistory(sheet.Example(), m.all), "a move that was taken back")
}

// TestRoundsEndWhereTheBuildChanges: what was measured before the crown wheel was
// bolted on is no part of the round after it.
func TestRoundsEndWhereTheBuildChanges(t *testing.T) {
	m := &memory{}
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.30))
	fill(t, m, record.StageSetUp, record.FeatureWheelBolts, steady(98))
	keyed(t, m, record.StageSetUp, record.FeatureBacklash, 0.16, 0.17)
	addMove(t, m, record.StageSetUp)
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.12))
	history := MoveHistory(sheet.Example(), m.all)
	require.Len(t, history, 1)
	assert.InDelta(t, 0.165, history[0].Move.Before, 1e-9)
	assert.InDelta(t, 0.002/math.Sqrt2, history[0].Move.BeforeU, 1e-9)
	assert.True(t, history[0].Learned)
}

// TestCapsTorquedAgainAreTheSameBuild: only the first time do they shift it.
func TestCapsTorquedAgainAreTheSameBuild(t *testing.T) {
	m := &memory{}
	fill(t, m, record.StageCaps, record.FeatureCapBolts, steady(85))
	fill(t, m, record.StageCaps, record.FeatureBacklash, steady(0.25))
	addMove(t, m, record.StageCaps)
	fill(t, m, record.StageCaps, record.FeatureCapBolts, steady(85))
	fill(t, m, record.StageCaps, record.FeatureBacklash, steady(0.20))
	history := MoveHistory(sheet.Example(), m.all)
	require.Len(t, history, 1)
	assert.True(t, history[0].Learned)
}

// TestRoundWithoutAValueIsNone: a refused reading ends no round.
func TestRoundWithoutAValueIsNone(t *testing.T) {
	m := &memory{}
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.30))
	addMove(t, m, record.StageSetUp)
	put(t, m, record.StageSetUp, record.FeatureBacklash, 1, math.NaN(), math.NaN())
	_, err := AdviseMove(sheet.Example(), m.all)
	require.ErrorContains(t, err, "since the adjusters were moved")
}

// TestMoveBetweenStages: only the round in the stage of the move is told.
func TestMoveBetweenStages(t *testing.T) {
	m := &memory{}
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.30))
	addMove(t, m, record.StageSetUp)
	fill(t, m, record.StageCaps, record.FeatureBacklash, steady(0.20))
	history := MoveHistory(sheet.Example(), m.all)
	require.Len(t, history, 1)
	assert.InDelta(t, 0.30, history[0].Move.Before, 1e-9)
	assert.True(t, math.IsNaN(history[0].Move.After))
	assert.Equal(t, record.StageSetUp, history[0].Stage)
}

// TestExpectationOfTwoNotches: the gain's doubt counts twice, that of the round
// before and of the seat once, and lag and slack by shares of the move.
func TestExpectationOfTwoNotches(t *testing.T) {
	m, s := &memory{}, sheet.Example()
	s.Adjuster.BacklashPerNotch = 0.04 // ± 0.01, and + closes
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.30))
	_, err := record.AddMove(m, record.StageSetUp, record.Move{Amount: 2, Unit: "notch"}, testTime)
	require.NoError(t, err)
	fill(t, m, record.StageSetUp, record.FeatureBacklash, steady(0.22))
	history := MoveHistory(s, m.all)
	require.Len(t, history, 1)
	assert.InDelta(t, 0.30-2*0.04, history[0].Advised, 1e-9)
	assert.InDelta(t, math.Sqrt(0.02*0.02+0.004*0.004+0.08*0.08*(0.01+0.0625)+0.002*0.002/8), history[0].U, 1e-9)
}

// What one side did alone counts by half, with more doubt; to finish by slackening
// it teaches nothing, and out on one side then in on the other is a whole move.
func TestOneSidedMovesAsOne(t *testing.T) {
	moved := func(sides ...[2]float64) setup.Move {
		store := &memory{}
		for _, s := range sides {
			_, err := record.AddMove(store, record.StageSetUp, record.Move{Unit: "notch", Near: s[0], Far: s[1]}, testTime)
			require.NoError(t, err)
		}
		return movesAsOne(store.all)
	}
	assert.Equal(t, setup.Move{Steps: 0.5, Uneven: 1}, moved([2]float64{1, 0}))
	assert.Equal(t, setup.Move{Steps: 0.5, Uneven: -1, Reversed: true}, moved([2]float64{0, -1}))
	assert.Equal(t, setup.Move{Steps: 1}, moved([2]float64{0, -2}, [2]float64{1, 0}, [2]float64{0, 1}), "the three moves told one by one")
	assert.Equal(t, setup.Move{Steps: 0, Uneven: 2}, moved([2]float64{1, 1}), "preload alone")
	assert.Equal(t, setup.Move{Steps: 0.5, Reversed: true}, moved([2]float64{1, -1}, [2]float64{-0.5, 0.5}), "turned back")

	even, one := setup.NewAdjusterModel(0.08, 0.02), setup.NewAdjusterModel(0.08, 0.02)
	require.True(t, even.Learn(setup.Move{Steps: 0.5, Before: 0.3, After: 0.275}))
	require.True(t, one.Learn(setup.Move{Steps: 0.5, Uneven: 1, Before: 0.3, After: 0.275}))
	gain, _, _ := even.Gain()
	lopsided, _, known := one.Gain()
	assert.True(t, known, "which way it goes is seen")
	assert.Greater(t, gain, lopsided)
	assert.Less(t, lopsided, -0.07, "half a notch of one side weighs little")
	_, err := record.AddMove(&memory{}, record.StageSetUp, record.Move{Unit: "notch"}, testTime)
	require.Error(t, err)
}

// What stands on each side is the sheet's, and what the recorded moves made of it;
// what was advised is recorded side by side.
func TestStacksFollowTheRecordedMoves(t *testing.T) {
	s := sheet.Example()
	s.Adjuster = sheet.Adjuster{Kind: "shims", ShimSizesMM: []float64{1.2, 1.1, 1.3, 1.15, 1.25}, ShimsCrownMM: 2.4, ShimsFarMM: 2.4}
	store := &memory{}
	fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.24))
	first, err := AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.InDelta(t, 2.5, first.Near.MM, 1e-9)
	assert.InDelta(t, 2.3, first.Far.MM, 1e-9)
	move := AsAdvised(first)
	assert.Equal(t, record.Move{Near: 0.1, Far: -0.1, Note: "as advised"}, move)
	move.Unit = "mm"
	wrong, err := record.AddMove(store, record.StageSetUp, move, testTime)
	require.NoError(t, err)
	assert.Equal(t, 0.1, wrong.Value)
	assert.Zero(t, wrong.Near, "alike on both sides")
	_, err = record.Reject(store, wrong.ID, testTime)
	require.NoError(t, err)
	_, err = record.AddMove(store, record.StageSetUp, record.Move{Unit: "mm", Near: 0.05, Far: -0.1}, testTime)
	require.NoError(t, err)
	fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.24))
	second, err := AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.InDelta(t, 2.45, second.Near.MM-second.Near.By, 1e-9, "what was taken back was not put in")
	assert.InDelta(t, 2.3, second.Far.MM-second.Far.By, 1e-9)
	uneven := AsAdvised(setup.Advice{Steps: 0.095, Near: setup.Side{By: 0.1}, Far: setup.Side{By: -0.09}})
	assert.Equal(t, record.Move{Near: 0.1, Far: -0.09, Note: "as advised"}, uneven)
}

func TestMoveTold(t *testing.T) {
	nan, inches := math.NaN(), sheet.Sheet{Windows: []sheet.Window{{Feature: record.FeatureBacklash, Unit: "in"}}}
	for _, tt := range []struct {
		after, advised, u float64
		sheet             sheet.Sheet
		want              string
	}{
		{0.186, 0.189, 0.006, sheet.Sheet{}, "+1: expected 0.189 ± 0.012, got 0.186 mm"},
		{0.186, 0.189, 0.006, inches, "+1: expected 0.0074 ± 0.0005, got 0.0073 in"},
		{0.186, 0.189, nan, sheet.Sheet{}, "+1: expected 0.189, got 0.186 mm"},
		{0.186, nan, nan, sheet.Sheet{}, "+1: got 0.186 mm"},
		{nan, nan, nan, sheet.Sheet{}, "+1: not measured since"},
	} {
		m := MoveResult{Advised: tt.advised, U: tt.u, Move: setup.Move{Steps: 1, After: tt.after}}
		assert.Equal(t, tt.want, m.Told(tt.sheet.Length))
	}
}
