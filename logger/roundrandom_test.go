package logger

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/record"
)

// TestRoundSurvivesAnything throws random readings, gauge events and commands
// at a round of every feature: it never panics, the journal stays in order, a
// position never has two standing values, and a new round on the same store
// finds the same state.
func TestRoundSurvivesAnything(t *testing.T) {
	for _, name := range record.Features() {
		for seed := range uint64(6) {
			t.Run(fmt.Sprintf("%s-%d", name, seed), func(t *testing.T) {
				rng := rand.New(rand.NewPCG(seed, 99))
				c := RoundConfig{Stage: record.StageFinal, Feature: name, HandsOff: rng.IntN(2) == 0, Keyed: rng.IntN(3) == 0}
				store := &memoryStore{}
				p := play(t, store, c)
				at := testTime
				for range 60 {
					at = randomEpisode(t, p, rng, at)
					checkRound(t, p)
				}
				again := play(t, &memoryStore{captures: store.captures}, c)
				assert.Equal(t, p.View().Stored, again.View().Stored)
				assert.Equal(t, again.View().Stored == len(again.visits), again.Done())
				if p.Done() {
					assert.True(t, again.Done())
				}
			})
		}
	}
}

// randomEpisode does one random thing and returns the time after it.
func randomEpisode(t *testing.T, p *played, rng *rand.Rand, at time.Time) time.Time {
	t.Helper()
	commands := []Command{CmdNext, CmdBack, CmdCapture, CmdRetry, CmdUndo, CmdPause, CmdOverride("why not"), CmdKeyed(0.2, "")}
	kinds := []device.EventKind{device.EventGarbled, device.EventSilent, device.EventLost, device.EventBack, device.EventEnd}
	switch rng.IntN(6) {
	case 0, 1:
		require.NoError(t, p.Command(commands[rng.IntN(len(commands))]))
		return at
	case 2:
		require.NoError(t, p.Handle(device.Event{Kind: kinds[rng.IntN(len(kinds))], Time: at, Text: "x"}))
		return at
	case 3:
		h := newHandTrace(rng.Uint64())
		h.at = at
		h.rock(rng.Float64(), 0.1+0.1*rng.Float64(), rng.IntN(6))
		h.liftAndTurn(0, 0)
		p.feed(h.take())
		return h.at
	}
	step := time.Duration(rng.IntN(500)) * time.Millisecond
	level := rng.Float64() * 100
	for range rng.IntN(80) {
		at = at.Add(step)
		v := level + rng.NormFloat64()
		rd := device.Reading{Time: at, Value: math.Round(v*100) / 100, Flags: frame.Flags(1<<rng.IntN(12)) >> 6}
		require.NoError(t, p.Handle(device.Event{Kind: device.EventReading, Time: at, Reading: rd}))
	}
	return at
}

func checkRound(t *testing.T, p *played) {
	t.Helper()
	v := p.View()
	assert.Equal(t, p.Done(), v.Current == -1)
	assert.LessOrEqual(t, len(v.Trace), traceLength)
	for i, s := range v.Trace {
		assert.True(t, s.T <= 1e-9 && s.T >= -traceSeconds-1e-9, "trace sample %d at %v", i, s.T)
	}
	for i, c := range p.store.captures {
		require.Equal(t, i+1, c.ID)
		require.LessOrEqual(t, c.Supersedes, i)
		for _, v := range []float64{c.Value, c.U, c.Low, c.High, c.Repeatability} {
			require.False(t, math.IsInf(v, 0), "capture %d: %+v", c.ID, c)
		}
	}
	standing := make(map[int]int)
	passes := 1
	if b, ok := p.cfg.Sheet.BoltList(p.cfg.Feature); ok {
		passes = len(b.Passes())
	}
	live := record.ActiveOf(p.store.captures, p.cfg.Stage, p.cfg.Feature)
	for _, c := range live {
		standing[c.Position]++
		require.LessOrEqual(t, standing[c.Position], passes, "position %d", c.Position)
	}
	assert.Len(t, live, v.Stored)
}
