package simbench

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
)

// A bench under test runs until the test ends.
func startBench(t *testing.T, c Config) *Bench {
	t.Helper()
	if c.AckWait == 0 {
		c.AckWait = 5 * time.Second
	}
	b, err := New(c)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- b.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		assert.NoError(t, <-done)
		assert.NoError(t, b.Close())
	})
	return b
}

// listen reads a gauge with the device code, as a job does, and calls take for
// each event until it returns false.
func listen(t *testing.T, b *Bench, i *Instrument, take func(device.Event) bool) {
	t.Helper()
	profile, _, err := device.FindProfile("text")
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	events, done := make(chan device.Event), make(chan error, 1)
	go func() { done <- device.NewGauge("bench", profile, i.Open, b.Now).Run(ctx, events) }()
	defer func() {
		cancel()
		require.NoError(t, <-done)
	}()
	for {
		select {
		case ev := <-events:
			if !take(ev) {
				return
			}
			if ev.Kind == device.EventReading || ev.Kind == device.EventGarbled {
				i.Ack()
			}
		case err := <-done:
			done <- err
			require.FailNow(t, "gauge ended", "%v", err)
		case <-ctx.Done():
			require.FailNow(t, "gauge fell silent")
		}
	}
}

// readings returns the next n readings of a gauge.
func readings(t *testing.T, b *Bench, i *Instrument, n int) []device.Reading {
	t.Helper()
	var rs []device.Reading
	listen(t, b, i, func(ev device.Event) bool {
		require.Equal(t, device.EventReading, ev.Kind, ev.Text)
		rs = append(rs, ev.Reading)
		return len(rs) < n
	})
	return rs
}

func values(rs []device.Reading) []float64 {
	var vs []float64
	for _, r := range rs {
		vs = append(vs, r.Value)
	}
	return vs
}

func TestIndicatorIsReadLikeAnyGauge(t *testing.T) {
	b := startBench(t, Config{Seed: 1})
	b.Do(Rock())
	rs := readings(t, b, b.Indicator, 200)
	for k, r := range rs {
		assert.Equal(t, "mm", r.Unit)
		assert.Zero(t, r.Flags)
		want := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(k+1) * 50 * time.Millisecond)
		assert.WithinDuration(t, want, r.Time, time.Microsecond)
	}
	assert.InDelta(t, 0.19, slices.Max(values(rs))-slices.Min(values(rs)), 0.05)
}

// byHand is what a fitter with pencil and paper gets: the middle of the upper
// readings less the middle of the lower ones.
func byHand(vs []float64) float64 {
	slices.Sort(vs)
	mid := (vs[0] + vs[len(vs)-1]) / 2
	split := slices.IndexFunc(vs, func(v float64) bool { return v > mid })
	low, high := vs[:split], vs[split:]
	return high[len(high)/2] - low[len(low)/2]
}

func TestTruthIsWhatTheGaugeShows(t *testing.T) {
	for seed := int64(1); seed <= 4; seed++ {
		b := startBench(t, Config{Seed: seed})
		for angle := 0.0; angle < 360; angle += 45 {
			b.Do(TurnTo(angle), Rock())
			vs := values(readings(t, b, b.Indicator, 300))
			assert.InDelta(t, b.TruthAt(angle), byHand(vs), 0.008, "seed %d at %g°", seed, angle)
		}
	}
}

func TestSameSeedSameRun(t *testing.T) {
	run := func(c Config) []device.Reading {
		b := startBench(t, c)
		b.Do(Rock())
		all := readings(t, b, b.Indicator, 150)
		b.Do(TurnTo(45), MoveAdjusters(1), TorqueCaps())
		return append(all, readings(t, b, b.Indicator, 150)...)
	}
	first := run(Config{Seed: 7})
	assert.Equal(t, first, run(Config{Seed: 7, Pace: 60}))
	assert.NotEqual(t, first, run(Config{Seed: 8}))
}

func TestPaceHoldsTimeBack(t *testing.T) {
	b := startBench(t, Config{Pace: 20})
	start := time.Now()
	readings(t, b, b.Indicator, 101)
	assert.GreaterOrEqual(t, time.Since(start), 240*time.Millisecond) // 5 s of bench time
}

func TestAdjustersAndCapsShiftTheTruth(t *testing.T) {
	b := startBench(t, Config{Seed: 3})
	before := b.TruthAt(45)
	b.Do(FitCentre())
	assert.InDelta(t, 0.10, math.Abs(b.TruthAt(45)-before), 0.021)
	before = b.TruthAt(45)
	b.Do(MoveAdjusters(2))
	moved := b.TruthAt(45)
	assert.InDelta(t, before-0.084, moved, 0.008, "towards the pinion the backlash gets smaller")
	b.Do(TorqueCaps())
	shift := math.Abs(b.TruthAt(45) - moved)
	assert.GreaterOrEqual(t, shift, 0.010)
	assert.LessOrEqual(t, shift, 0.020)
}

func TestCableOutAndIn(t *testing.T) {
	b := startBench(t, Config{Seed: 5})
	b.Do(Rock())
	var kinds []device.EventKind
	n := 0
	listen(t, b, b.Indicator, func(ev device.Event) bool {
		n++
		if len(kinds) == 0 || kinds[len(kinds)-1] != ev.Kind {
			kinds = append(kinds, ev.Kind)
		}
		if n == 40 {
			b.Indicator.Unplug()
		}
		if ev.Kind == device.EventLost {
			_, _, err := b.Indicator.Open(t.Context())
			assert.ErrorIs(t, err, &device.PortError{Reason: device.PortMissing})
			require.NoError(t, b.Indicator.Replug())
		}
		return n < 80
	})
	assert.Equal(t, []device.EventKind{device.EventReading, device.EventLost, device.EventBack, device.EventReading}, kinds)
}

func TestNextListenerGetsNothingLeftUnread(t *testing.T) {
	b := startBench(t, Config{Seed: 5, AckWait: time.Millisecond})
	p, _, err := b.Indicator.Open(t.Context())
	require.NoError(t, err)
	start := b.Now()
	require.Eventually(t, func() bool { return b.Now().Sub(start) > time.Second/4 }, 5*time.Second, time.Millisecond)
	b.Expect(2) // time stands still
	require.NoError(t, p.Close())
	p, _, err = b.Indicator.Open(t.Context())
	require.NoError(t, err)
	defer p.Close()
	require.NoError(t, p.SetReadTimeout(100*time.Millisecond))
	n, err := p.Read(make([]byte, 8))
	assert.NoError(t, err)
	assert.Zero(t, n)
}
