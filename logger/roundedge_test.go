package logger

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

func TestBackToTheFirstAndNoFurther(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	require.NoError(t, p.Command(CmdNext))
	require.NoError(t, p.Command(CmdBack))
	assert.Equal(t, 0, p.View().Current)
	assert.Empty(t, p.View().Alert)
	require.NoError(t, p.Command(CmdBack))
	assert.Equal(t, "This is the first position.", p.View().Alert)
}

func TestValuesThatAreNone(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	for _, text := range []string{"soft", "NaN", "+Inf", ""} {
		require.EqualError(t, p.Command(Command("value "+text)), `value "`+text+`": want a number`)
	}
	assert.Empty(t, p.store.captures)
}

func TestUndoAndOverrideSayThatTheyAreNotStored(t *testing.T) {
	full := errors.New("disk full")
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(0.16)
	p.store.fail = full
	require.ErrorIs(t, p.Command(CmdUndo), full)
	assert.Equal(t, "The undo is NOT stored: disk full.", p.View().Alert)
	assert.InDelta(t, 0.16, p.View().Positions[0].Value, 1e-9, "it still stands")

	p = play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, Keyed: true})
	require.NoError(t, p.Hold())
	p.store.fail = full
	require.ErrorIs(t, p.Command(CmdOverride("came in pieces")), full)
	require.Len(t, p.Held(), 1)
	assert.Equal(t, job.HoldAsFound, p.Held()[0].Name)
}

func TestCaptureOfAPlaceTheSheetHasNoMore(t *testing.T) {
	store := &memoryStore{}
	c := record.Blank(record.StageAsFound, record.FeatureBacklash, testTime)
	c.Position, c.Value = 99, 0.5
	_, err := store.Append(c)
	require.NoError(t, err)
	assert.Zero(t, play(t, store, RoundConfig{Keyed: true}).View().Stored)
}

func TestLowBatteryIsSaidOnce(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	h := newHandTrace(1)
	h.hold(0, 0.1)
	events := h.take()
	p.feed(events[:1])
	before := p.count(EventGauge)
	for _, ev := range events[1:] {
		ev.Reading.Flags = frame.FlagLowBattery
		p.feed([]device.Event{ev})
	}
	assert.Equal(t, before+1, p.count(EventGauge))
}

// TestGarbledFramesAreToldEverMoreRarely: five, the tenth, then each hundredth.
func TestGarbledFramesAreToldEverMoreRarely(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	told := make(map[int]int)
	for n := 1; n <= 200; n++ {
		p.feed([]device.Event{{Kind: device.EventGarbled, Time: testTime, Text: "?"}})
		told[n] = p.count(EventGauge)
	}
	assert.Equal(t, []int{4, 5, 5, 6, 6, 7, 8}, []int{told[4], told[5], told[9], told[10], told[99], told[100], told[200]})
	assert.Equal(t, 200, p.View().Garbled)
}
