package logger

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/device"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// key feeds typed values.
func (p *played) key(values ...float64) {
	p.t.Helper()
	unit := p.cfg.Unit
	if p.cfg.Feature == record.FeatureLeakDown {
		unit = "kPa/min" // a bare number could be a pressure
	}
	for i, v := range values {
		at := testTime.Add(timeStep * timeStepOf(i))
		require.NoError(p.t, p.Handle(device.Event{Kind: device.EventReading, Time: at, Gauge: "keyed",
			Reading: device.Reading{Time: at, Gauge: "keyed", Value: v, Unit: unit}}))
	}
}

func TestKeyedRound(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true, Unit: "thou", Resolution: 0.01})
	p.key(6, 6.5, 7, 6, 6, 6.5)
	assert.Equal(t, 6, p.View().Current)
	assert.Equal(t, "Turn to position 7, 270 degrees (tooth 33). Type the backlash in thou.", p.View().Action)
	p.key(6, 7)
	require.True(t, p.Done())
	c := p.store.captures[1]
	assert.InDelta(t, 6.5*0.0254, c.Value, 1e-9)
	assert.Equal(t, record.QualityKeyed, c.Quality)
	assert.Equal(t, "mm", c.Unit)
	normal := math.Sqrt(0.00443*0.00443 + math.Pow(c.Value*0.01, 2)/3)
	assert.InDelta(t, gum.Convolved(normal, 0.0092)/gum.HalfWidthFactor, c.U, 2e-5, "two half counts of 0.01, 0.003 permissible error, a ratio of radii good to 1 %, and 4.6 µm of wind-up at either stop")
	p.key(9)
	assert.Len(t, p.store.captures, 8, "nothing is captured behind the end")
	assert.Contains(t, p.View().Alert, "undo")
}

func TestKeyedRefusesNegative(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(-0.1)
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "negative")
}

func TestUndo(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(0.15, 0.16, 0.49)
	require.NoError(t, p.Command(CmdUndo))
	assert.Equal(t, 2, p.View().Current)
	assert.Equal(t, 2, p.View().Stored)
	last := p.store.captures[3]
	assert.Equal(t, record.QualityRejected, last.Quality)
	assert.Equal(t, 3, last.Supersedes)
	assert.Len(t, feature.Points(sheet.Example(), p.store.captures, record.StageAsFound, record.FeatureBacklash), 2)

	p.key(0.49)

	require.NoError(t, p.Command(CmdUndo))
	p.key(0.17)
	points := feature.Points(sheet.Example(), p.store.captures, record.StageAsFound, record.FeatureBacklash)
	require.Len(t, points, 3)
	assert.InDelta(t, 0.17, points[2].Value, 1e-12)
	assert.Equal(t, 2, p.count(EventUndone))
}

func TestUndoAfterTheEnd(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.5)
	require.True(t, p.Done())
	require.NoError(t, p.Command(CmdUndo))
	assert.False(t, p.Done())
	assert.Equal(t, 7, p.View().Current)
	p.key(0.15)
	assert.True(t, p.Done())
}

func TestUndoNothing(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	require.NoError(t, p.Command(CmdUndo))
	assert.Contains(t, p.View().Alert, "nothing to undo")
	assert.Empty(t, p.store.captures)
}

func TestRetryMeasuresAgain(t *testing.T) {
	h := newHandTrace(21)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.rock(0, 0.16, 4)
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
	require.NoError(t, p.Command(CmdRetry))
	h.rock(0, 0.18, 8) // that far off it is asked about, and measured twice
	p.feed(h.take())
	require.Len(t, p.store.captures, 2)
	assert.Equal(t, 1, p.store.captures[1].Supersedes)
	assert.Equal(t, 1, p.store.captures[1].Position)
	require.NoError(t, p.Command(CmdUndo))
	points := feature.Points(sheet.Example(), p.store.captures, record.StageAsFound, record.FeatureBacklash)
	require.Len(t, points, 1, "the first value stands again")
	assert.InDelta(t, 0.16, points[0].Value, 0.004)
}

func TestNextBackPauseCapture(t *testing.T) {
	h := newHandTrace(22)
	p := play(t, &memoryStore{}, RoundConfig{})
	require.NoError(t, p.Command(CmdBack))
	assert.Contains(t, p.View().Alert, "first position")
	require.NoError(t, p.Command(CmdNext))
	assert.Equal(t, 1, p.View().Current)
	require.NoError(t, p.Command(CmdPause))
	assert.Equal(t, StatePaused, p.View().State)
	h.rock(0, 0.16, 5)
	p.feed(h.take())
	assert.Empty(t, p.store.captures, "nothing is measured in a pause")
	require.NoError(t, p.Command(CmdPause))
	require.NoError(t, p.Command(CmdCapture))
	assert.Contains(t, p.View().Alert, "Nothing to store yet")
	h.rock(0, 0.16, 5)
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
	assert.Equal(t, 2, p.store.captures[0].Position)
	require.Error(t, p.Command("dance"))
}

func TestLiftWithoutHandsOffStays(t *testing.T) {
	h := newHandTrace(23)
	p := play(t, &memoryStore{}, RoundConfig{})
	h.rock(0, 0.16, 4)
	h.liftAndTurn(0, 0)
	p.feed(h.take())
	assert.Equal(t, 0, p.View().Current)
	require.NoError(t, p.Command(CmdNext))
	assert.Equal(t, 1, p.View().Current)
}

func TestAgainSupersedes(t *testing.T) {
	store := &memoryStore{}
	first := play(t, store, RoundConfig{Keyed: true})
	first.key(0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15)
	done := play(t, store, RoundConfig{Keyed: true})
	assert.True(t, done.Done(), "without Again there is nothing left to do")
	again := play(t, store, RoundConfig{Keyed: true, Again: true})
	require.False(t, again.Done())
	again.key(0.16)
	assert.Equal(t, 1, store.captures[8].Supersedes)
	assert.Len(t, record.Active(store.captures), 8)
}

func TestMoveStartsTheRoundAnew(t *testing.T) {
	store := &memoryStore{}
	p := play(t, store, RoundConfig{Keyed: true, Stage: record.StageSetUp})
	p.key(0.25, 0.25, 0.25, 0.25, 0.25, 0.25, 0.25, 0.25)
	require.True(t, p.Done())
	_, err := record.AddMove(store, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	assert.Empty(t, feature.Points(sheet.Example(), store.captures, record.StageSetUp, record.FeatureBacklash), "what was measured before the move is over")
	second := play(t, store, RoundConfig{Keyed: true, Stage: record.StageSetUp})
	require.False(t, second.Done())
	second.key(0.18, 0.18, 0.18)
	assert.Equal(t, 1, store.captures[9].Supersedes)
	third := play(t, store, RoundConfig{Keyed: true, Stage: record.StageSetUp})
	assert.Equal(t, 3, third.View().Stored, "and a killed round goes on")
}

func TestBackFromTheEndAndOnAgain(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15)
	require.True(t, p.Done())
	require.NoError(t, p.Command(CmdBack))
	require.NoError(t, p.Command(CmdBack))
	assert.False(t, p.Done())
	assert.Equal(t, 6, p.View().Current)
	require.NoError(t, p.Command(CmdNext))
	require.NoError(t, p.Command(CmdNext))
	assert.True(t, p.Done())
}

// Positions by whole pinion turns are reached by turning the pinion, not by an
// angle that nobody can measure on the wheel.
func TestPositionsByPinionTurnsSayTheTurn(t *testing.T) {
	s := sheet.Example()
	s.Positions, s.GearSet.PinionTeeth, s.GearSet.WheelTeeth = 0, 10, 43
	h := newHandTrace(61)
	p := play(t, &memoryStore{}, RoundConfig{Sheet: s, HandsOff: true})
	assert.Equal(t, "Free the pinion. Turn to position 1, 0 degrees (tooth 1). Hold the pinion. Rock three times.", p.View().Action)
	h.rock(0, 0.16, 4)
	p.feed(h.take())
	assert.Equal(t, "Stored. Lift the plunger, free the pinion and turn the pinion one whole turn, to position 2 (tooth 11).", p.View().Action)
	h.liftAndTurn(0, 0)
	p.feed(h.take())
	assert.Equal(t, "Free the pinion. Turn the pinion one whole turn, to position 2 (tooth 11). Hold the pinion. Rock three times.", p.View().Action)
	require.NoError(t, p.Command(CmdNext))
	assert.Equal(t, "Free the pinion. Turn the pinion one whole turn, to position 3 (tooth 21). Hold the pinion. Rock three times.", p.View().Action)
	require.NoError(t, p.Command(CmdBack))
	assert.Equal(t, "Free the pinion. Turn the pinion back one whole turn, to position 2 (tooth 11). Hold the pinion. Rock three times.", p.View().Action)
	require.NoError(t, p.Command(CmdRetry))
	assert.Equal(t, "Free the pinion. Turn to position 2, 84 degrees (tooth 11). Hold the pinion. Rock three times.", p.View().Action)

	keyed := play(t, &memoryStore{}, RoundConfig{Sheet: s, Keyed: true})
	require.NoError(t, keyed.Command(CmdNext))
	require.NoError(t, keyed.Command(CmdNext))
	require.NoError(t, keyed.Command(CmdNext))
	keyed.key(0.16)
	assert.Equal(t, "Turn the pinion back 3 whole turns, to position 1 (tooth 1). Type the backlash in mm.", keyed.View().Action)
	even := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	require.NoError(t, even.Command(CmdNext))
	assert.Contains(t, even.View().Action, "Turn to position 2, 45 degrees (tooth 6).")
}

func TestFinishedRoundTakesNoMore(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	for range 8 {
		require.NoError(t, p.Command(CmdKeyed(0.16, "")))
	}
	require.True(t, p.Done())
	require.NoError(t, p.Command(CmdKeyed(0.19, "")))
	require.NoError(t, p.Command(CmdCapture))
	assert.Len(t, p.store.captures, 8)
	assert.Equal(t, feature.AllStored, p.View().Alert)
	assert.Equal(t, 0.16, p.View().Positions[0].Value)
}

// TestCommandHasOneTime: without a gauge a clock that goes on while a value is stored
// must not part the capture from the line of the readings that it came of.
func TestCommandHasOneTime(t *testing.T) {
	clock := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	store := &memoryStore{}
	r, err := NewRound(RoundConfig{
		Sheet: sheet.Example(), Stage: record.StageAsFound, Feature: record.FeatureBacklash, Keyed: true, Store: store,
		Now: func() time.Time { clock = clock.Add(20 * time.Millisecond); return clock },
	})
	require.NoError(t, err)
	for range 2 {
		at := clock.Add(time.Hour)
		require.NoError(t, r.Handle(device.Event{Kind: device.EventCommand, Time: at, Text: string(CmdKeyed(0.16, "mm"))}))
		assert.Equal(t, at, store.Captures()[len(store.Captures())-1].Time)
		require.NoError(t, r.Command(CmdNext))
	}
	assert.Len(t, store.Captures(), 2)
}
