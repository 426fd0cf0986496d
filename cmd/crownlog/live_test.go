package main

import (
	"bytes"
	"context"
	"errors"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"crownlog/device"
	"crownlog/logger"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// said is a source that sends events and then waits for its context.
type said []device.Event

func (s said) Run(ctx context.Context, out chan<- device.Event) error {
	for _, ev := range s {
		if !send(ctx, out, ev) {
			return nil
		}
	}
	<-ctx.Done()
	return nil
}

// broken is a source whose port does not open.
type broken struct{ err error }

func (b broken) Run(context.Context, chan<- device.Event) error { return b.err }

func keyedEvent(v float64) device.Event {
	at := time.Now()
	return device.Event{Kind: device.EventReading, Time: at, Gauge: "dial",
		Reading: device.Reading{Time: at, Gauge: "dial", Value: v, Unit: "mm"}}
}

func newKeyedRound(t *testing.T, store logger.Store) *logger.Round {
	t.Helper()
	sheet := logger.ExampleSheet()
	sheet.Positions = 4
	round, err := logger.NewRound(logger.RoundConfig{
		Sheet: sheet, Stage: logger.StageAsFound, Feature: logger.FeatureBacklash, Store: store, Keyed: true,
	})
	require.NoError(t, err)
	return round
}

func TestRoundRunsUntilEveryPositionIsMeasured(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := &scratch{}
		g := startGauges(t.Context(), said{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17), keyedEvent(0.16), keyedEvent(0.11)})
		defer g.stop()
		b := newBoard()
		out, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, store), gauges: g, board: b})
		require.NoError(t, err)
		assert.True(t, out.done)
		assert.Len(t, store.captures, 4)
		assert.Equal(t, 4, b.latest().Stored, "the last view is always hung up")
	})
}

func TestRoundGoesOnAfterTheLastPositionWhenItStays(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := &scratch{}
		g := startGauges(t.Context(), said{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17), keyedEvent(0.16)})
		defer g.stop()
		ctx, quit := context.WithCancel(t.Context())
		b := newBoard()
		go func() {
			time.Sleep(time.Second)
			b.command(logger.CmdUndo)
			time.Sleep(time.Second)
			quit()
		}()
		out, err := runRound(ctx, roundConfig{round: newKeyedRound(t, store), gauges: g, board: b, stay: true})
		require.NoError(t, err)
		assert.False(t, out.done, "the last capture was taken back")
		assert.True(t, math.IsNaN(out.view.Positions[3].Value))
	})
}

func TestLostGaugeIsGivenUpAfterItsWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lost := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		g := startGauges(t.Context(), said{keyedEvent(0.15), lost})
		defer g.stop()
		start := time.Now()
		out, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g, wait: 30 * time.Second})
		assert.ErrorIs(t, err, errGaugeLost)
		assert.Equal(t, "cable out", out.lost)
		assert.Equal(t, 30*time.Second, time.Since(start))
		assert.Equal(t, 1, out.view.Stored)
	})
}

func TestGaugeIsGivenUpWhileAnotherTalksOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lost := device.Event{Kind: device.EventLost, Gauge: "thermometer", Text: "cable out"}
		g := startGauges(t.Context(), said{lost, keyedEvent(0.15), keyedEvent(0.16)})
		defer g.stop()
		start := time.Now()
		out, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g, wait: 30 * time.Second})
		assert.ErrorIs(t, err, errGaugeLost)
		assert.Equal(t, "cable out", out.lost)
		assert.Equal(t, 30*time.Second, time.Since(start))
	})
}

func TestGaugeThatComesBackIsNotGivenUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lost := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		back := device.Event{Kind: device.EventBack, Gauge: "dial", Text: "open again"}
		g := startGauges(t.Context(), said{keyedEvent(0.15), lost, back})
		defer g.stop()
		ctx, quit := context.WithTimeout(t.Context(), time.Hour)
		defer quit()
		out, err := runRound(ctx, roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g, wait: 30 * time.Second})
		require.NoError(t, err)
		assert.Empty(t, out.lost)
	})
}

func TestPortThatDoesNotOpenEndsTheRound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		denied := &device.PortError{Port: "ttyX", Reason: device.PortDenied}
		g := startGauges(t.Context(), broken{denied})
		defer g.stop()
		_, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g})
		assert.ErrorIs(t, err, denied)
	})
}

// cutShort is a source that sends events and then fails.
type cutShort struct {
	events []device.Event
	err    error
}

func (c cutShort) Run(ctx context.Context, out chan<- device.Event) error {
	for _, ev := range c.events {
		send(ctx, out, ev)
	}
	return c.err
}

func TestWhatWasHeardBeforeAFailureCounts(t *testing.T) {
	torn := errors.New("line 4 is damaged")
	for range 20 { // select picks at random among what is ready
		synctest.Test(t, func(t *testing.T) {
			store := &scratch{}
			g := startGauges(t.Context(), cutShort{[]device.Event{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17)}, torn})
			defer g.stop()
			synctest.Wait()
			_, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, store), gauges: g})
			assert.ErrorIs(t, err, torn)
			assert.Len(t, store.captures, 3)
		})
	}
}

func TestFailureAfterTheLastPositionIsLeftToTheNextRound(t *testing.T) {
	gone := errors.New("gone")
	for range 20 {
		synctest.Test(t, func(t *testing.T) {
			g := startGauges(t.Context(), cutShort{[]device.Event{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17), keyedEvent(0.16)}, gone})
			defer g.stop()
			synctest.Wait()
			out, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g})
			require.NoError(t, err)
			assert.True(t, out.done)
			_, err = runRound(t.Context(), roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g})
			assert.ErrorIs(t, err, gone)
		})
	}
}

func TestListenPrintsWhatWasHeardBeforeAFailure(t *testing.T) {
	for range 20 {
		synctest.Test(t, func(t *testing.T) {
			var heard bytes.Buffer
			g := startGauges(t.Context(), cutShort{[]device.Event{keyedEvent(0.15), keyedEvent(0.16)}, errors.New("gone")})
			defer g.stop()
			synctest.Wait()
			assert.EqualError(t, (&listenCmd{}).listen(t.Context(), &console{out: &heard}, g, nil), "gone")
			assert.Equal(t, "0.15 mm\n0.16 mm\n", heard.String())
		})
	}
}

// full is a store without room.
type full struct{ scratch }

func (*full) Append(c logger.Capture) (logger.Capture, error) {
	return c, &logger.StoreError{What: "store capture in", Path: "captures.csv", Err: logger.ErrDiskFull}
}

func TestCaptureThatCannotBeStoredEndsTheRound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := startGauges(t.Context(), said{keyedEvent(0.15)})
		defer g.stop()
		out, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, &full{}), gauges: g})
		require.ErrorIs(t, err, logger.ErrDiskFull)
		assert.Equal(t, exitRecord, exitCode(err))
		assert.Equal(t, 0, out.view.Stored)
	})
}

func TestBoardDropsCommandsThatNobodyTakes(t *testing.T) {
	b := newBoard()
	for range 100 {
		b.command(logger.CmdNext)
	}
	assert.Len(t, b.commands, 16)
	assert.Equal(t, -1, b.latest().Current, "before the first view there is no position")
	b.publish(logger.View{Stored: 1})
	b.publish(logger.View{Stored: 2})
	assert.Len(t, b.wake, 1)
	assert.Equal(t, 2, b.latest().Stored)
}

func TestHandledIsCalledAfterEachEvent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		round := newKeyedRound(t, &scratch{})
		var stored []int
		g := startGauges(t.Context(), said{keyedEvent(0.15), keyedEvent(0.16), {Kind: device.EventEnd}})
		defer g.stop()
		out, err := runRound(t.Context(), roundConfig{round: round, gauges: g,
			handled: func(device.Event) { stored = append(stored, round.View().Stored) }})
		require.NoError(t, err)
		assert.False(t, out.done)
		assert.Equal(t, []int{1, 2, 2}, stored)
	})
}
