package main

import (
	"context"
	"io"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/cmd/crownlog/dashboard"
	"crownlog/device"
	"crownlog/logger"
)

// exampleSitting is a sitting at the invented example job without a gauge.
func exampleSitting(t *testing.T, stage, feature string) *sitting {
	t.Helper()
	folder, err := logger.CreateJob(filepath.Join(t.TempDir(), "job"), logger.ExampleTOML())
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, folder.Close()) })
	return &sitting{cmd: &measureCmd{Stage: stage, Feature: feature, HandsOff: true}, folder: folder}
}

// sit plays the user at the board while the sitting's rounds run.
func sit(t *testing.T, s *sitting, user func(b *board)) []outcome {
	t.Helper()
	ctx, quit := context.WithCancel(t.Context())
	b := newBoard()
	g := startGauges(ctx)
	defer g.stop()
	go func() {
		defer quit()
		user(b)
	}()
	ends, err := s.rounds(ctx, b, g)
	require.NoError(t, err)
	return ends
}

// settle waits until the round has taken what was sent.
func settle() { time.Sleep(time.Second) }

func typeAll(b *board, n int, v float64) {
	for range n {
		b.command(logger.CmdKeyed(v, ""))
		settle()
	}
}

func TestSittingGoesThroughTheJob(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := exampleSitting(t, logger.StageAsFound, logger.FeatureBacklash)
		var seen []string
		ends := sit(t, s, func(b *board) {
			typeAll(b, 8, 0.16)
			b.turn(dashboard.Turn{})
			settle()
			seen = append(seen, b.latest().Stage+" "+b.latest().Feature)
			b.turn(dashboard.Turn{Stage: logger.StageSetUp, Feature: logger.FeatureBacklash})
			settle()
			seen = append(seen, string(b.latest().State))
			typeAll(b, 1, 0.2)
			b.chore(func(r *logger.Round) error { return s.pass(r, logger.HoldFace, "measured by the machine shop") })
			settle()
			typeAll(b, 8, 0.27)
			b.turn(dashboard.Turn{Moved: logger.Move{Amount: 1, Unseated: true}})
			settle()
			seen = append(seen, b.latest().Feature)
			typeAll(b, 8, 0.165)
		})
		assert.Equal(t, []string{"bench runout-carrier-flange", "on hold", "backlash"}, seen)
		require.Len(t, ends, 2, "the last of each round in which something stands")
		assert.True(t, ends[0].done && ends[1].done)
		assert.Equal(t, analysis.Inside, ends[1].view.Verdict, "after the move")

		captures := s.folder.Captures()
		assert.Len(t, captures, 8+1+8+1+8)
		assert.Equal(t, logger.FeatureMove, captures[17].Feature)
		assert.Equal(t, 1.0, captures[17].Value)
		assert.Equal(t, "notch", captures[17].Unit)
		assert.True(t, captures[17].Unseated, "as it was typed")
		assert.Equal(t, 0.165, captures[25].Value)
	})
}

func port(label, unit string) gaugePort {
	return gaugePort{label: label, profile: device.Profile{Name: label, Unit: unit, Resolution: 0.01}}
}

func TestGaugesFor(t *testing.T) {
	dial, second := port("dial", "mm"), port("second dial", "in")
	wrench, air, thermometer, any := port("wrench", "N·m"), port("air", "bar"), port("thermometer", "°C"), port("any", "")
	for _, tt := range []struct {
		name    string
		plugs   []gaugePort
		feature string
		want    []string
	}{
		{"the first that fits", []gaugePort{wrench, dial, second}, logger.FeatureBacklash, []string{"dial"}},
		{"another unit of the same kind", []gaugePort{wrench, second}, logger.FeatureRunoutBackFace, []string{"second dial"}},
		{"torque", []gaugePort{dial, wrench}, logger.FeatureCapBolts, []string{"wrench"}},
		{"an air test is read as a pressure, with the temperature", []gaugePort{dial, thermometer, air}, logger.FeatureLeakDown, []string{"air", "thermometer"}},
		{"no thermometer with a backlash", []gaugePort{dial, thermometer}, logger.FeatureBacklash, []string{"dial"}},
		{"one that names its units itself", []gaugePort{wrench, any}, logger.FeatureBacklash, []string{"any"}},
		{"what fits goes before what may", []gaugePort{any, dial}, logger.FeatureBacklash, []string{"dial"}},
		{"nothing fits", []gaugePort{wrench}, logger.FeatureBacklash, []string{}},
		{"nothing reads litres", []gaugePort{any, dial}, logger.FeatureOilFill, []string{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, labels(gaugesFor(tt.plugs, tt.feature)))
		})
	}
}

func TestRoundHearsItsOwnGauges(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		other := keyedEvent(0.99)
		other.Gauge, other.Reading.Gauge = "wrench", "wrench"
		gone := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		ctx, quit := context.WithTimeout(t.Context(), time.Minute)
		defer quit()
		g := startGauges(ctx, said{keyedEvent(0.15), other, gone})
		defer g.stop()
		store := &scratch{}
		out, err := runRound(ctx, roundConfig{round: newKeyedRound(t, store), gauges: g, stay: true, hear: []string{"dial"}})
		require.NoError(t, err)
		require.Len(t, store.captures, 1)
		assert.Equal(t, 0.15, store.captures[0].Value)
		assert.Equal(t, "cable out", out.lost)
	})
}

func TestLossOfAGaugeIsKnownToTheNextRound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		gone := device.Event{Kind: device.EventLost, Gauge: "dial", Text: "cable out"}
		ctx, quit := context.WithTimeout(t.Context(), time.Minute)
		defer quit()
		g := startGauges(ctx, said{gone})
		defer g.stop()
		for heard, want := range map[string]logger.State{"wrench": logger.StateWaiting, "dial": logger.StateLost} {
			ctx, end := context.WithTimeout(ctx, time.Second)
			out, err := runRound(ctx, roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g, stay: true, hear: []string{heard}})
			end()
			require.NoError(t, err)
			assert.Equal(t, want, out.view.State, heard)
		}
	})
}

func TestResolutionOfAGauge(t *testing.T) {
	for unit, want := range map[string]float64{"mm": 0.01, "bar": 1, "in": 0.254, "lbf·in": 0.001129848290276167, "": 0} {
		assert.InDelta(t, want, port("gauge", unit).resolution(), 1e-15, unit)
	}
}

func TestSittingEndsWithTheWorstOfItsRounds(t *testing.T) {
	round := func(feature string, verdict analysis.Verdict, done bool) outcome {
		return outcome{view: logger.View{Feature: feature, Verdict: verdict}, done: done}
	}
	inside, oil := round(logger.FeatureBacklash, analysis.Inside, true), round(logger.FeatureOilFill, analysis.NotDecided, true)
	for name, tt := range map[string]struct {
		ends []outcome
		want int
	}{
		"nothing":       {nil, exitOK},
		"all is well":   {[]outcome{inside, oil}, exitOK},
		"one outside":   {[]outcome{round(logger.FeatureEngagement, analysis.Outside, true), oil}, exitOutside},
		"not finished":  {[]outcome{round(logger.FeatureWheelBolts, analysis.NotDecided, false), oil}, exitOutside},
		"too close":     {[]outcome{round(logger.FeatureBacklash, analysis.TooClose, true)}, exitOK},
		"gauge is away": {[]outcome{{view: inside.view, done: true, lost: "cable out"}}, exitDevice},
	} {
		t.Run(name, func(t *testing.T) {
			s := &sitting{con: &console{out: io.Discard, err: io.Discard}}
			err := s.sumUp(tt.ends)
			if tt.want == exitDevice {
				assert.ErrorContains(t, err, "went away")
			}
			assert.Equal(t, tt.want, exitCode(err))
		})
	}
}
