package logger

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// fill measures a feature by typed values.
func fill(t *testing.T, store *memoryStore, stage, name string, value func(i int) float64) {
	t.Helper()
	p := play(t, store, RoundConfig{Stage: stage, Feature: name, Keyed: true})
	for i := 0; !p.Done(); i++ {
		require.Less(t, i, 100, "%s does not end", name)
		p.key(value(i))
	}
}

func steady(v float64) func(int) float64 { return func(int) float64 { return v } }

// onceAround is an invented once-a-turn movement of so much either way.
func onceAround(amplitude, phase, mean float64) func(int) float64 {
	return func(i int) float64 { return mean + amplitude*math.Cos((45*float64(i)-phase)*math.Pi/180) }
}

// standingIn counts what stands of the backlash in a stage.
func standingIn(store *memoryStore, stage string) int {
	return len(record.Valid(store.captures, stage, record.FeatureBacklash))
}

func TestFaceRemedyIsTheNextAction(t *testing.T) {
	store := &memoryStore{}
	fill(t, store, record.StageBench, record.FeatureRunoutFlange, onceAround(0.02, 0, 0))
	p := play(t, store, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, Keyed: true})
	for i := range 8 {
		p.key(onceAround(0.05, 0, 0)(i))
	}
	require.True(t, p.Done())
	v := p.View()
	assert.Equal(t, gum.Outside, v.Verdict)
	assert.Contains(t, v.Advice, "by 5 bolt holes")
	assert.Equal(t, v.Advice, v.Action)
	require.NoError(t, p.Command(CmdUndo))
	assert.Empty(t, p.View().Advice)
}

func TestBothFlanksOfAPatternAreRead(t *testing.T) {
	store := &memoryStore{}
	p := play(t, store, RoundConfig{Stage: record.StageSetUp, Feature: record.FeaturePatternDrive, Keyed: true})
	p.key(0.1, 0.05)
	assert.Empty(t, p.View().Conclusion, "one flank says nothing")
	p = play(t, store, RoundConfig{Stage: record.StageSetUp, Feature: record.FeaturePatternCoast, Keyed: true})
	p.key(-0.05, 0)
	want := setup.ContactAdvice(setup.Contact{Along: 0.1, Up: 0.05}, setup.Contact{Along: -0.05}, sheet.Example().GearSet.ToothForm, false)
	assert.Equal(t, words.Contact(want), p.View().Conclusion)
}

func TestUndoAfterAMoveBringsNothingOldBack(t *testing.T) {
	store := &memoryStore{}
	fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.30))
	_, err := record.AddMove(store, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	p := play(t, store, RoundConfig{Stage: record.StageSetUp, Keyed: true})
	p.key(0.25)
	require.NoError(t, p.Command(CmdUndo))
	assert.True(t, math.IsNaN(p.View().Positions[0].Value), "0.30 was before the move")
	assert.Zero(t, standingIn(store, record.StageSetUp))
}
