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

func emptied(store *memory, stage string) bool {
	_, ok := record.Emptied(store.all, stage, record.FeatureBacklash)
	return ok
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
		assert.True(t, emptied(store, stage), stage)
		round := feature.Assess(sheet.Example(), store.all, stage, record.FeatureBacklash)
		assert.Equal(t, gum.NotDecided, round.Verdict)
		assert.Contains(t, round.Reason(), "since the adjusters were moved")
	}
	assert.Empty(t, record.Valid(store.all, record.StageSetUp, record.FeaturePatternDrive))
	assert.Empty(t, record.Valid(store.all, record.StageFinal, record.FeaturePreloadTotal), "the caps were slackened for it")
	assert.True(t, holdNamed(t, store, HoldRecheck).Blocking)
	for _, s := range (Job{Sheet: sheet.Example(), Captures: store.all}).Steps() {
		if s.Feature == record.FeatureBacklash {
			assert.Equal(t, s.Stage == record.StageAsFound, s.Complete, s.Title)
		}
	}
	_, err = AdviseMove(sheet.Example(), store.all)
	require.ErrorContains(t, err, "since the adjusters were moved")

	fill(t, store, record.StageFinal, record.FeatureBacklash, steady(0.160))
	assert.False(t, emptied(store, record.StageFinal))
	assert.Equal(t, 8, standingIn(store, record.StageFinal))

	// The move taken back, the rounds before it stand again.
	_, err = record.Reject(store, move.ID, testTime)
	require.NoError(t, err)
	assert.Equal(t, 8, standingIn(store, record.StageCaps))
}

func TestAMoveAsFoundIsRefused(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.165))
	_, err := record.AddMove(store, record.StageAsFound, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.ErrorContains(t, err, "what is as found is not moved")
	assert.Equal(t, 8, standingIn(store, record.StageAsFound))
}

// TestStageOfAMove: one that names no stage is never put where the axle is still
// as it was found, or on the bench.
func TestStageOfAMove(t *testing.T) {
	for at, want := range map[string]string{
		"": record.StageSetUp, record.StageAsFound: record.StageSetUp, record.StageFitUp: record.StageSetUp, record.StageBench: record.StageSetUp,
		record.StageSetUp: record.StageSetUp, record.StageCaps: record.StageCaps, record.StageFinal: record.StageFinal,
	} {
		store := &memory{}
		if at != "" {
			fill(t, store, at, record.FeatureBacklash, steady(0.165))
		}
		s := sheet.Example()
		s.Stages = append(s.StageList(), record.StageFitUp)
		assert.Equal(t, want, Job{Sheet: s, Captures: store.all}.StageOfMove(), at)
	}
	s := sheet.Example()
	s.Stages = []string{record.StageAsFound, record.StageFinal}
	assert.Equal(t, record.StageFinal, Job{Sheet: s}.StageOfMove())
}

// After a move with the caps torqued these are torqued again before anything is
// measured; how the backlash was with them snug is not asked for once more.
func TestAMoveWithTheCapsTorqued(t *testing.T) {
	store := &memory{}
	next := func() string {
		for _, s := range (Job{Sheet: sheet.Example(), Captures: store.all}).Steps() {
			if s.Feature == record.FeatureBacklash && s.Stage != record.StageAsFound || s.Feature == record.FeatureCapBolts {
				if s.Open() {
					return s.Title
				}
			}
		}
		return ""
	}
	fill(t, store, record.StageSetUp, record.FeatureBacklash, steady(0.165))
	fill(t, store, record.StageCaps, record.FeatureCapBolts, steady(85))
	fill(t, store, record.StageCaps, record.FeatureBacklash, steady(0.22))
	_, err := record.AddMove(store, record.StageCaps, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	again, torqued := Job{Sheet: sheet.Example()}.CapsAgain(record.StageCaps)
	assert.True(t, torqued)
	assert.Equal(t, Request{Stage: record.StageCaps, Feature: record.FeatureCapBolts}, again)
	assert.Equal(t, "backlash, set-up", next(), "while they are slack it can be measured")
	fill(t, store, record.StageCaps, record.FeatureCapBolts, steady(85))
	assert.Equal(t, "backlash, caps-torqued", next())

	_, torqued = Job{Sheet: sheet.Example()}.CapsAgain(record.StageSetUp)
	assert.False(t, torqued, "snug all the time")
	bare := sheet.Example()
	bare.Bolts = nil
	_, torqued = Job{Sheet: bare}.CapsAgain(record.StageFinal)
	assert.False(t, torqued, "none listed")
	_, err = record.AddMove(store, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	assert.Equal(t, "backlash, set-up", next(), "moved with them snug")
}
