package main

import (
	"bytes"
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/sheet"
)

var traceStart = time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)

// pressures stores a readings file of so many readings a second apart, which
// begin at that pressure, and does then what is done while it is open.
func pressures(t *testing.T, f *job.Folder, from time.Time, seconds int, kPa float64, then func()) {
	t.Helper()
	w, err := f.Readings(record.StageFinal, record.FeatureLeakDown)
	require.NoError(t, err)
	for i := range seconds {
		at := from.Add(time.Duration(i) * time.Second)
		require.NoError(t, w.Record(device.Event{Kind: device.EventReading, Time: at, Gauge: "air",
			Reading: device.Reading{Time: at, Gauge: "air", Value: kPa, Unit: "kPa"}}))
	}
	then()
	require.NoError(t, w.Close())
}

// TestTraceIsTheOneBehindTheCapture: not the newest, which may have been given
// up, and whatever the folder is called.
func TestTraceIsTheOneBehindTheCapture(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "br[ack]et")
	f, err := job.Create(dir, sheet.ExampleTOML())
	require.NoError(t, err)
	nan := math.NaN()
	capture := func() {
		_, err = f.Append(record.Capture{Time: traceStart.Add(8*time.Hour + 299*time.Second), Stage: record.StageFinal, Feature: record.FeatureLeakDown,
			Value: 1, Unit: "kPa/min", U: 0.1, AngleDeg: nan, Low: nan, High: nan, Repeatability: nan, Quality: record.QualityOK})
		require.NoError(t, err)
	}
	for i := range 12 { // the ninth is behind the capture: -9 stands after -10 in the alphabet
		then := func() {}
		if i == 8 {
			then = capture
		}
		pressures(t, f, traceStart.Add(time.Duration(i)*time.Hour), 300, 700+float64(i), then)
	}
	require.NoError(t, f.Close())

	snap, err := job.Read(dir)
	require.NoError(t, err)
	require.Len(t, snap.Readings, 12)
	d := report.Build(snap.Sheet, snap.Captures, traceStart)
	require.NoError(t, addTraces(&d, snap))
	require.Len(t, d.Measured, 1)
	require.NotEmpty(t, d.Measured[0].Curve)
	assert.InDelta(t, 708, d.Measured[0].Curve[0].P, 1e-9)

	path, err := findReadings(snap, "final-leak-down")
	require.NoError(t, err)
	assert.Equal(t, "final-leak-down-12.csv", filepath.Base(path), "replay takes the newest")
	keyed := snap.Captures[0]
	keyed.From = ""
	readings, err := readingsBehind(snap, keyed, "kPa")
	require.NoError(t, err)
	assert.Nil(t, readings, "a value that was keyed has no readings")
}

// replayed plays a round and returns the value of its last capture.
func replayed(t *testing.T, dir, round string) float64 {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code := run(t.Context(), []string{"replay", dir, round, "--json"}, strings.NewReader(""), &stdout, &stderr)
	require.LessOrEqual(t, code, exitOutside, "%s", stderr.String())
	value := math.NaN()
	for line := range strings.Lines(stdout.String()) {
		var v struct {
			Event string
			Value float64
		}
		require.NoError(t, json.Unmarshal([]byte(line), &v))
		if v.Event == string(logger.EventCaptured) {
			value = v.Value
		}
	}
	return value
}

// TestReplayOfAContinuousTurn gives the full movement that was captured.
func TestReplayOfAContinuousTurn(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "job")
	f, err := job.Create(dir, sheet.ExampleTOML())
	require.NoError(t, err)
	w, err := f.Readings(record.StageBench, record.FeatureRunoutFlange)
	require.NoError(t, err)
	round, err := logger.NewRound(logger.RoundConfig{
		Sheet: f.Sheet(), Stage: record.StageBench, Feature: record.FeatureRunoutFlange, Store: f, Readings: w,
		Continuous: true, Override: "only a test",
	})
	require.NoError(t, err)
	for i := range 1100 { // two turns and a bit in 55 s
		at := traceStart.Add(time.Duration(i) * 50 * time.Millisecond)
		turns := float64(i) / 500
		v := math.Round(1000*(0.03*math.Sin(2*math.Pi*turns)+0.004*math.Sin(4*math.Pi*turns))) / 1000
		require.NoError(t, round.Handle(device.Event{Kind: device.EventReading, Time: at, Gauge: "indicator",
			Reading: device.Reading{Time: at, Gauge: "indicator", Value: v, Unit: "mm"}}))
	}
	require.NoError(t, round.Command(logger.CmdCapture))
	require.True(t, round.Done(), round.View().Alert)
	captured := f.Captures()[len(f.Captures())-1]
	for i := range 100 { // the plunger is lifted: not part of what was taken
		at := traceStart.Add(56*time.Second + time.Duration(i)*50*time.Millisecond)
		require.NoError(t, round.Handle(device.Event{Kind: device.EventReading, Time: at, Gauge: "indicator",
			Reading: device.Reading{Time: at, Gauge: "indicator", Value: 3, Unit: "mm"}}))
	}
	require.NoError(t, w.Close())
	require.NoError(t, f.Close())
	require.Zero(t, captured.Position)
	assert.InDelta(t, captured.Value, replayed(t, dir, "bench-runout-carrier-flange"), 1e-9)
}
