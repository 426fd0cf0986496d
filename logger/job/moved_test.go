package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// standingIn counts what stands of the backlash in a stage.
func standingIn(store *memory, stage string) int {
	return len(record.Valid(store.all, stage, record.FeatureBacklash))
}

func TestAMovePutsWhatWasMeasuredBeforeOutOfDate(t *testing.T) {
	store := &memory{}
	for _, stage := range []string{record.StageAsFound, record.StageSetUp, record.StageCaps, record.StageFinal} {
		fill(t, store, stage, record.FeatureBacklash, steady(0.165))
	}
	fill(t, store, record.StageSetUp, record.FeaturePatternDrive, steady(0.1))
	fill(t, store, record.StageFinal, record.FeaturePreloadTotal, steady(2.1))
	assert.False(t, holdNamed(t, store, HoldRecheck).Blocking)
	move, err := record.AddMove(store, record.StageSetUp, record.Move{Amount: 2, Unit: "notch"}, testTime)
	require.NoError(t, err)

	assert.Equal(t, 8, standingIn(store, record.StageAsFound), "as found stays as it was found")
	for _, stage := range []string{record.StageSetUp, record.StageCaps, record.StageFinal} {
		assert.Zero(t, standingIn(store, stage), stage)
		assert.True(t, record.EmptiedByMove(store.all, stage, record.FeatureBacklash), stage)
		round := feature.Assess(sheet.Example(), store.all, stage, record.FeatureBacklash)
		assert.Equal(t, gum.NotDecided, round.Verdict)
		assert.Contains(t, round.Reason(), "since the adjusters were moved")
	}
	assert.Empty(t, record.Valid(store.all, record.StageSetUp, record.FeaturePatternDrive))
	assert.Len(t, record.Valid(store.all, record.StageFinal, record.FeaturePreloadTotal), 1, "not moved by the adjusters")
	assert.True(t, holdNamed(t, store, HoldRecheck).Blocking)
	for _, s := range (Job{Sheet: sheet.Example(), Captures: store.all}).Steps() {
		if s.Feature == record.FeatureBacklash {
			assert.Equal(t, s.Stage == record.StageAsFound, s.Complete, s.Title)
		}
	}
	_, err = AdviseMove(sheet.Example(), store.all)
	require.ErrorContains(t, err, "since the adjusters were moved")

	fill(t, store, record.StageFinal, record.FeatureBacklash, steady(0.160))
	assert.False(t, record.EmptiedByMove(store.all, record.StageFinal, record.FeatureBacklash))
	assert.Equal(t, 8, standingIn(store, record.StageFinal))

	// The move taken back, the rounds before it stand again.
	_, err = record.Reject(store, move.ID, testTime)
	require.NoError(t, err)
	assert.Equal(t, 8, standingIn(store, record.StageCaps))
}

func TestAMoveAsFoundChangesWhatWasAsFound(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.165))
	_, err := record.AddMove(store, record.StageAsFound, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	assert.Zero(t, standingIn(store, record.StageAsFound))
}
