package logger

import (
	"math"
	"testing"

	"crownlog/analysis/gum"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// standingIn counts what stands of the backlash in a stage.
func standingIn(store *memoryStore, stage string) int {
	return len(Standing(store.captures, stage, FeatureBacklash))
}

func TestAMovePutsWhatWasMeasuredBeforeOutOfDate(t *testing.T) {
	store := &memoryStore{}
	for _, stage := range []string{StageAsFound, StageSetUp, StageCaps, StageFinal} {
		fill(t, store, stage, FeatureBacklash, steady(0.165))
	}
	fill(t, store, StageSetUp, FeaturePatternDrive, steady(0.1))
	fill(t, store, StageFinal, FeaturePreloadTotal, steady(2.1))
	assert.False(t, holdNamed(t, store, HoldRecheck).Blocking)
	move, err := RecordMove(store, StageSetUp, Move{Amount: 2, Unit: "notch"}, testTime)
	require.NoError(t, err)

	assert.Equal(t, 8, standingIn(store, StageAsFound), "as found stays as it was found")
	for _, stage := range []string{StageSetUp, StageCaps, StageFinal} {
		assert.Zero(t, standingIn(store, stage), stage)
		assert.True(t, EmptiedByMove(store.captures, stage, FeatureBacklash), stage)
		round := Assess(ExampleSheet(), store.captures, stage, FeatureBacklash)
		assert.Equal(t, gum.NotDecided, round.Verdict)
		assert.Contains(t, round.Reason(), "since the adjusters were moved")
	}
	assert.Empty(t, Standing(store.captures, StageSetUp, FeaturePatternDrive))
	assert.Len(t, Standing(store.captures, StageFinal, FeaturePreloadTotal), 1, "not moved by the adjusters")
	assert.True(t, holdNamed(t, store, HoldRecheck).Blocking)
	for _, s := range (Job{ExampleSheet(), store.captures}).Steps() {
		if s.Feature == FeatureBacklash {
			assert.Equal(t, s.Stage == StageAsFound, s.Done, s.Title)
		}
	}
	_, err = AdviseMove(ExampleSheet(), store.captures)
	require.ErrorContains(t, err, "since the adjusters were moved")

	fill(t, store, StageFinal, FeatureBacklash, steady(0.160))
	assert.False(t, EmptiedByMove(store.captures, StageFinal, FeatureBacklash))
	assert.Equal(t, 8, standingIn(store, StageFinal))

	// The move taken back, the rounds before it stand again.
	_, err = Reject(store, move.ID, testTime)
	require.NoError(t, err)
	assert.Equal(t, 8, standingIn(store, StageCaps))
}

func TestAMoveAsFoundChangesWhatWasAsFound(t *testing.T) {
	store := &memoryStore{}
	fill(t, store, StageAsFound, FeatureBacklash, steady(0.165))
	_, err := RecordMove(store, StageAsFound, Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	assert.Zero(t, standingIn(store, StageAsFound))
}

func TestUndoAfterAMoveBringsNothingOldBack(t *testing.T) {
	store := &memoryStore{}
	fill(t, store, StageSetUp, FeatureBacklash, steady(0.30))
	_, err := RecordMove(store, StageSetUp, Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	p := play(t, store, RoundConfig{Stage: StageSetUp, Keyed: true})
	p.key(0.25)
	require.NoError(t, p.Command(CmdUndo))
	assert.True(t, math.IsNaN(p.View().Positions[0].Value), "0.30 was before the move")
	assert.Zero(t, standingIn(store, StageSetUp))
}
