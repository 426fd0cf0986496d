package rehearse

import (
	"context"
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/cmd/crownlog/live"
	"crownlog/device/simbench"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// watch waits for a view of a hub, as the screen does.
func watch(t *testing.T, h *live.Hub, what string, seen func(logger.View) bool) logger.View {
	t.Helper()
	late := time.After(20 * time.Second)
	wake, forget := h.Watch()
	defer forget()
	for {
		if v := h.Latest(); seen(v) {
			return v
		}
		select {
		case <-wake:
		case <-late:
			require.FailNow(t, "never came: "+what)
		}
	}
}

// startRehearsal sets up a rehearsal that shows on a hub, and its bench.
func startRehearsal(t *testing.T, c simbench.Config) *Rehearsal {
	t.Helper()
	folder, err := job.Create(filepath.Join(t.TempDir(), "job"), Sheet())
	require.NoError(t, err)
	bench, err := simbench.New(c)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ran := make(chan error, 1)
	go func() { ran <- bench.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		assert.NoError(t, <-ran)
		assert.NoError(t, bench.Close())
		assert.NoError(t, folder.Close())
	})
	return &Rehearsal{Folder: folder, Bench: bench, Hub: live.NewHub(),
		Out: io.Discard, Lines: io.Discard, Listen: func(logger.Event) {}, Summary: func(logger.View) []string { return nil }}
}

func TestByKeyNothingIsCapturedByItself(t *testing.T) {
	t.Parallel()
	r := startRehearsal(t, simbench.Config{Seed: 2, Pace: 40})
	r.ByKey = true
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- r.job(ctx) }()

	v := watch(t, r.Hub, "rocks", func(v logger.View) bool { return v.Rocks >= 5 })
	assert.Zero(t, v.Stored)
	r.Hub.Command(logger.CmdCapture)
	v = watch(t, r.Hub, "the capture", func(v logger.View) bool { return v.Stored == 1 })
	assert.Equal(t, 0, v.Current)
	r.Hub.Command(logger.CmdNext)
	watch(t, r.Hub, "rocks at the next position", func(v logger.View) bool { return v.Current == 1 && v.Rocks >= 3 })
	r.Hub.Command(logger.CmdBack)
	watch(t, r.Hub, "rocks at the first position", func(v logger.View) bool { return v.Current == 0 && v.Rocks >= 3 })

	cancel()
	assert.NoError(t, <-done)
	require.Len(t, r.truths, 1)
	assert.InDelta(t, r.truths[0].actual, r.truths[0].measured, closeEnough)
}

func TestCableOutInMidRound(t *testing.T) {
	t.Parallel()
	r := startRehearsal(t, simbench.Config{Seed: 2})
	task, ok := taskFor(record.FeatureBacklash, r.Bench)
	require.True(t, ok)
	done := make(chan error, 1)
	go func() {
		done <- r.measure(t.Context(), job.Step{Assessment: feature.Assessment{Stage: record.StageAsFound, Feature: record.FeatureBacklash}}, task)
	}()
	watch(t, r.Hub, "three captures", func(v logger.View) bool { return v.Stored >= 3 })
	r.Bench.Indicator.Unplug()
	watch(t, r.Hub, "the loss", func(v logger.View) bool { return v.State == logger.StateLost })
	require.NoError(t, r.Bench.Indicator.Replug())
	require.NoError(t, <-done)

	points := feature.Points(r.Folder.Sheet(), r.Folder.Captures(), record.StageAsFound, record.FeatureBacklash)
	require.Len(t, points, 8)
	for _, p := range points {
		assert.InDelta(t, r.Bench.TruthAt(p.AngleDeg), p.Value, closeEnough)
	}
}

// What goes wrong at the gauge is named, and nothing wrong is captured.
func TestFaultsAtTheGauge(t *testing.T) {
	for _, c := range []struct {
		name         string
		does, undoes simbench.Action
		want         analysis.Fault // "": none, the round copes
	}{
		{"zero pressed", simbench.PressZero(), simbench.Rock(), analysis.ZeroShift},
		{"unit button", simbench.PressUnit(), simbench.Rock(), ""},
		{"pinion let slip", simbench.SlipPinion(0.012), simbench.SlipPinion(0), analysis.PinionSlip},
		{"garbled lines", simbench.Garble(12), simbench.Rock(), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := startRehearsal(t, simbench.Config{Seed: 4, AckWait: 20 * time.Second})
			// The bench waits for the round, which does this between two readings:
			// however busy the machine is, it happens at the same place.
			stored, rocks, done, seen := 0, 0, false, false
			r.Hub = nil
			r.Listen = func(ev logger.Event) {
				switch {
				case ev.Kind == logger.EventCaptured:
					stored++
				case ev.Kind == logger.EventRock && stored == 2 && !done:
					if rocks++; rocks < 2 { // one stop before is an odd one, and left out
						break
					}
					r.Bench.Do(c.does)
					done = true
				}
				if done && !seen && (c.want == "" || ev.Kind == logger.EventFault && ev.Fault == c.want) {
					r.Bench.Do(c.undoes)
					seen = true
				}
			}
			task, _ := taskFor(record.FeatureBacklash, r.Bench)
			require.NoError(t, r.measure(t.Context(), job.Step{Assessment: feature.Assessment{Stage: record.StageAsFound, Feature: record.FeatureBacklash}}, task))
			require.True(t, seen, "the fault never came")
			points := feature.Points(r.Folder.Sheet(), r.Folder.Captures(), record.StageAsFound, record.FeatureBacklash)
			require.Len(t, points, 8)
			for _, p := range points {
				assert.InDelta(t, r.Bench.TruthAt(p.AngleDeg), p.Value, closeEnough, "position %d", p.Position)
			}
		})
	}
}
