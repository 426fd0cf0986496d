package logger

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// standingIn counts what stands of the backlash in a stage.
func standingIn(store *memoryStore, stage string) int {
	return len(record.Valid(store.captures, stage, record.FeatureBacklash))
}

func TestAMovePutsWhatWasMeasuredBeforeOutOfDate(t *testing.T) {
	store := &memoryStore{}
	for _, stage := range []string{record.StageAsFound, record.StageSetUp, record.StageCaps, record.StageFinal} {
		fill(t, store, stage, record.FeatureBacklash, steady(0.165))
	}
	fill(t, store, record.StageSetUp, record.FeaturePatternDrive, steady(0.1))
	fill(t, store, record.StageFinal, record.FeaturePreloadTotal, steady(2.1))
	assert.False(t, holdNamed(t, store, job.HoldRecheck).Blocking)
	move, err := record.AddMove(store, record.StageSetUp, record.Move{Amount: 2, Unit: "notch"}, testTime)
	require.NoError(t, err)

	assert.Equal(t, 8, standingIn(store, record.StageAsFound), "as found stays as it was found")
	for _, stage := range []string{record.StageSetUp, record.StageCaps, record.StageFinal} {
		assert.Zero(t, standingIn(store, stage), stage)
		assert.True(t, record.EmptiedByMove(store.captures, stage, record.FeatureBacklash), stage)
		round := feature.Assess(sheet.Example(), store.captures, stage, record.FeatureBacklash)
		assert.Equal(t, gum.NotDecided, round.Verdict)
		assert.Contains(t, round.Reason(), "since the adjusters were moved")
	}
	assert.Empty(t, record.Valid(store.captures, record.StageSetUp, record.FeaturePatternDrive))
	assert.Len(t, record.Valid(store.captures, record.StageFinal, record.FeaturePreloadTotal), 1, "not moved by the adjusters")
	assert.True(t, holdNamed(t, store, job.HoldRecheck).Blocking)
	for _, s := range (job.Job{Sheet: sheet.Example(), Captures: store.captures}).Steps() {
		if s.Feature == record.FeatureBacklash {
			assert.Equal(t, s.Stage == record.StageAsFound, s.Done, s.Title)
		}
	}
	_, err = job.AdviseMove(sheet.Example(), store.captures)
	require.ErrorContains(t, err, "since the adjusters were moved")

	fill(t, store, record.StageFinal, record.FeatureBacklash, steady(0.160))
	assert.False(t, record.EmptiedByMove(store.captures, record.StageFinal, record.FeatureBacklash))
	assert.Equal(t, 8, standingIn(store, record.StageFinal))

	// The move taken back, the rounds before it stand again.
	_, err = record.Reject(store, move.ID, testTime)
	require.NoError(t, err)
	assert.Equal(t, 8, standingIn(store, record.StageCaps))
}

func TestAMoveAsFoundChangesWhatWasAsFound(t *testing.T) {
	store := &memoryStore{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.165))
	_, err := record.AddMove(store, record.StageAsFound, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	assert.Zero(t, standingIn(store, record.StageAsFound))
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
