package live

import (
	"context"
	"errors"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// scratch is a store that keeps captures for as long as the round lasts, unless
// it is full.
type scratch struct {
	captures []record.Capture
	full     error
}

func (s *scratch) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(s.captures) + 1
	if s.full == nil {
		s.captures = append(s.captures, c)
	}
	return c, s.full
}

func (s *scratch) Captures() []record.Capture { return s.captures }

// said is a source that sends events and then waits for its context.
type said []device.Event

func (s said) Run(ctx context.Context, out chan<- device.Event) error {
	for _, ev := range s {
		select {
		case out <- ev:
		case <-ctx.Done():
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

func newKeyedRound(t *testing.T, store record.Store) *logger.Round {
	t.Helper()
	sheet := sheet.Example()
	sheet.Positions = 4
	round, err := logger.NewRound(logger.RoundConfig{
		Sheet: sheet, Stage: record.StageAsFound, Feature: record.FeatureBacklash, Store: store, Keyed: true,
	})
	require.NoError(t, err)
	return round
}

func TestRoundRunsUntilEveryPositionIsMeasured(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := &scratch{}
		g := Start(t.Context(), said{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17), keyedEvent(0.16), keyedEvent(0.11)})
		defer g.Stop()
		hub := NewHub()
		out, err := Run(t.Context(), Config{Round: newKeyedRound(t, store), Gauges: g, Hub: hub})
		require.NoError(t, err)
		assert.True(t, out.Done)
		assert.Len(t, store.captures, 4)
		assert.Equal(t, 4, hub.Latest().Stored, "the last view is always published")
	})
}

func TestRoundGoesOnAfterTheLastPositionWhenItStays(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := &scratch{}
		g := Start(t.Context(), said{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17), keyedEvent(0.16)})
		defer g.Stop()
		ctx, quit := context.WithCancel(t.Context())
		hub := NewHub()
		go func() {
			time.Sleep(time.Second)
			hub.Command(logger.CmdUndo)
			time.Sleep(time.Second)
			quit()
		}()
		out, err := Run(ctx, Config{Round: newKeyedRound(t, store), Gauges: g, Hub: hub, Stay: true})
		require.NoError(t, err)
		assert.False(t, out.Done, "the last capture was taken back")
		assert.True(t, math.IsNaN(out.View.Positions[3].Value))
	})
}

func TestLostGaugeIsGivenUpAfterItsWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lost := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		g := Start(t.Context(), said{keyedEvent(0.15), lost})
		defer g.Stop()
		start := time.Now()
		out, err := Run(t.Context(), Config{Round: newKeyedRound(t, &scratch{}), Gauges: g, Wait: 30 * time.Second})
		assert.ErrorIs(t, err, ErrGaugeLost)
		assert.Equal(t, "cable out", out.Lost)
		assert.Equal(t, 30*time.Second, time.Since(start))
		assert.Equal(t, 1, out.View.Stored)
	})
}

func TestGaugeIsGivenUpWhileAnotherTalksOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lost := device.Event{Kind: device.EventLost, Gauge: "thermometer", Text: "cable out"}
		g := Start(t.Context(), said{lost, keyedEvent(0.15), keyedEvent(0.16)})
		defer g.Stop()
		start := time.Now()
		out, err := Run(t.Context(), Config{Round: newKeyedRound(t, &scratch{}), Gauges: g, Wait: 30 * time.Second})
		assert.ErrorIs(t, err, ErrGaugeLost)
		assert.Equal(t, "cable out", out.Lost)
		assert.Equal(t, 30*time.Second, time.Since(start))
	})
}

func TestGaugeThatComesBackIsNotGivenUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lost := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		back := device.Event{Kind: device.EventBack, Gauge: "dial", Text: "open again"}
		g := Start(t.Context(), said{keyedEvent(0.15), lost, back})
		defer g.Stop()
		ctx, quit := context.WithTimeout(t.Context(), time.Hour)
		defer quit()
		out, err := Run(ctx, Config{Round: newKeyedRound(t, &scratch{}), Gauges: g, Wait: 30 * time.Second})
		require.NoError(t, err)
		assert.Empty(t, out.Lost)
	})
}

func TestPortThatDoesNotOpenEndsTheRound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		denied := &device.PortError{Port: "ttyX", Reason: device.PortDenied}
		g := Start(t.Context(), broken{denied})
		defer g.Stop()
		_, err := Run(t.Context(), Config{Round: newKeyedRound(t, &scratch{}), Gauges: g})
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
		out <- ev
	}
	return c.err
}

func TestWhatWasHeardBeforeAFailureCounts(t *testing.T) {
	torn := errors.New("line 4 is damaged")
	for range 20 { // select picks at random among what is ready
		synctest.Test(t, func(t *testing.T) {
			store := &scratch{}
			g := Start(t.Context(), cutShort{[]device.Event{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17)}, torn})
			defer g.Stop()
			synctest.Wait()
			_, err := Run(t.Context(), Config{Round: newKeyedRound(t, store), Gauges: g})
			assert.ErrorIs(t, err, torn)
			assert.Len(t, store.captures, 3)
		})
	}
}

func TestFailureAfterTheLastPositionIsLeftToTheNextRound(t *testing.T) {
	gone := errors.New("gone")
	for range 20 {
		synctest.Test(t, func(t *testing.T) {
			g := Start(t.Context(), cutShort{[]device.Event{keyedEvent(0.15), keyedEvent(0.16), keyedEvent(0.17), keyedEvent(0.16)}, gone})
			defer g.Stop()
			synctest.Wait()
			out, err := Run(t.Context(), Config{Round: newKeyedRound(t, &scratch{}), Gauges: g})
			require.NoError(t, err)
			assert.True(t, out.Done)
			_, err = Run(t.Context(), Config{Round: newKeyedRound(t, &scratch{}), Gauges: g})
			assert.ErrorIs(t, err, gone)
		})
	}
}

func TestCaptureThatCannotBeStoredEndsTheRound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := Start(t.Context(), said{keyedEvent(0.15)})
		defer g.Stop()
		noRoom := &journal.StoreError{What: "store capture in", Path: "captures.csv", Err: journal.ErrDiskFull}
		out, err := Run(t.Context(), Config{Round: newKeyedRound(t, &scratch{full: noRoom}), Gauges: g})
		require.ErrorIs(t, err, journal.ErrDiskFull)
		assert.Equal(t, 0, out.View.Stored)
	})
}

func TestHubDropsCommandsThatNobodyTakes(t *testing.T) {
	hub := NewHub()
	for range 100 {
		hub.Command(logger.CmdNext)
	}
	assert.Len(t, hub.tasks, 16)
	assert.Equal(t, -1, hub.Latest().Current, "before the first view there is no position")
	hub.Publish(logger.View{Stored: 1})
	hub.Publish(logger.View{Stored: 2})
	assert.Equal(t, 2, hub.Latest().Stored)
}

func TestHandledIsCalledAfterEachEvent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		round := newKeyedRound(t, &scratch{})
		var stored []int
		g := Start(t.Context(), said{keyedEvent(0.15), keyedEvent(0.16), {Kind: device.EventEnd}})
		defer g.Stop()
		out, err := Run(t.Context(), Config{Round: round, Gauges: g,
			Handled: func(device.Event) { stored = append(stored, round.View().Stored) }})
		require.NoError(t, err)
		assert.False(t, out.Done)
		assert.Equal(t, []int{1, 2, 2}, stored)
	})
}

// crashing is a source with a mistake in it.
type crashing struct{}

func (crashing) Run(context.Context, chan<- device.Event) error { panic("broken decoder") }

func TestCrashOfAGaugeIsPassedOn(t *testing.T) {
	_, err := Measure(t.Context(), Config{Round: newKeyedRound(t, &scratch{})}, crashing{})
	var c *Crash
	require.ErrorAs(t, err, &c)
	assert.Equal(t, "broken decoder", c.Cause)
	assert.Contains(t, c.Error(), "crashing.Run")
}
