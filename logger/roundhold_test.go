package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// heldRound is a keyed round of the crown wheel bolts before the as-found
// backlash is known.
func heldRound(t *testing.T, store *memoryStore, reason string) *Round {
	t.Helper()
	s := sheet.Example()
	s.Stages = []string{record.StageAsFound, record.StageBench, record.StageFinal} // no dry fit-up to wait for
	r, err := NewRound(RoundConfig{
		Sheet: s, Stage: record.StageBench, Feature: record.FeatureWheelBolts, Store: store, Keyed: true, Override: reason,
	})
	require.NoError(t, err)
	require.NoError(t, r.Hold())
	return r
}

func TestRoundHolds(t *testing.T) {
	store := &memoryStore{}
	r := heldRound(t, store, "")
	require.Len(t, r.Held(), 1)
	assert.Equal(t, job.HoldAsFound, r.Held()[0].Name)

	require.NoError(t, r.Handle(device.Event{Kind: device.EventReading, Time: testTime, Reading: device.Reading{Time: testTime, Value: 30, Unit: "N·m"}}))
	require.NoError(t, r.Command(CmdKeyed(30, "")))
	require.NoError(t, r.Command(CmdCapture))
	assert.Empty(t, store.captures, "nothing is captured before the hold point")
	v := r.View()
	assert.Equal(t, StateHeld, v.State)
	assert.Contains(t, v.Alert, "Do not strip yet")
	assert.Contains(t, v.Action, "with a reason")

	require.NoError(t, r.Command(CmdOverride("a new axle, never driven")))
	assert.Empty(t, r.Held())
	require.NoError(t, r.Command(CmdKeyed(30, "")))
	require.Len(t, store.captures, 2)
	assert.Equal(t, job.HoldAsFound, store.captures[0].Hold)
	assert.Equal(t, "a new axle, never driven", store.captures[0].Note)
	assert.NotContains(t, r.View().Alert, "strip")
}

func TestRoundPassesHoldsWithAReasonGivenBefore(t *testing.T) {
	store := &memoryStore{}
	r := heldRound(t, store, "a new axle")
	assert.Empty(t, r.Held())
	require.Len(t, store.captures, 1)
	assert.Empty(t, heldRound(t, store, "").Held(), "it stays passed")
}

func TestRoundHoldsUntilTheStepBeforeIsDone(t *testing.T) {
	store := &memoryStore{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.16))
	assert.Empty(t, heldRound(t, store, "").Held())
}
