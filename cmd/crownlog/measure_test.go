package main

import (
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestMeasureEndsWithTheWorstOfItsRounds(t *testing.T) {
	round := func(name string, verdict gum.Verdict, done bool) live.Outcome {
		return live.Outcome{View: logger.View{Assessment: feature.Assessment{Feature: name, Verdict: verdict}}, Done: done}
	}
	inside, oil := round(record.FeatureBacklash, gum.Inside, true), round(record.FeatureOilFill, gum.NotDecided, true)
	for name, tt := range map[string]struct {
		ends []live.Outcome
		want int
	}{
		"nothing":       {nil, exitOK},
		"all is well":   {[]live.Outcome{inside, oil}, exitOK},
		"one outside":   {[]live.Outcome{round(record.FeatureEngagement, gum.Outside, true), oil}, exitOutside},
		"not finished":  {[]live.Outcome{round(record.FeatureWheelBolts, gum.NotDecided, false), oil}, exitOutside},
		"too close":     {[]live.Outcome{round(record.FeatureBacklash, gum.TooClose, true)}, exitOK},
		"gauge is away": {[]live.Outcome{{View: inside.View, Done: true, Lost: "cable out"}}, exitDevice},
	} {
		t.Run(name, func(t *testing.T) {
			err := (&measureCmd{jobWriter: jobWriter{Job: "axle"}}).sumUp(&console{out: io.Discard, err: io.Discard}, tt.ends)
			if tt.want == exitDevice {
				assert.ErrorContains(t, err, "went away")
			}
			assert.Equal(t, tt.want, exitCode(err))
		})
	}
}

func TestHowToGoOnCanBeTypedAsItIsPrinted(t *testing.T) {
	round := live.Outcome{View: logger.View{Assessment: feature.Assessment{Feature: record.FeatureBacklash, Stage: "final"}}}
	for want, c := range map[string]measureCmd{
		"crownlog measure axle --stage final --feature backlash --keyed": {jobWriter: jobWriter{Job: "axle"}, Keyed: true},
		"crownlog measure" + strings.TrimPrefix(shellCommand("my axle"), "crownlog") + " --stage final --feature backlash --port /dev/a --gauge mine.toml --port /dev/b --by Fitter": {
			jobWriter: jobWriter{"my axle", signer{"Fitter"}}, Port: []string{"/dev/a", "/dev/b"}, Gauge: []string{"mine.toml"}},
	} {
		assert.Equal(t, want, c.goOn(round))
	}
}

// Without --port the only port is the gauge's, one on USB before one that is built
// in; without any the values are typed.
func TestGaugeIsFoundWhereOnePortIs(t *testing.T) {
	usb, built := device.PortInfo{Name: "/dev/ttyUSB0", USB: true}, device.PortInfo{Name: "/dev/ttyS0"}
	second := device.PortInfo{Name: "/dev/ttyUSB1", USB: true}
	for name, tt := range map[string]struct {
		ports []device.PortInfo
		from  string
		keyed bool
		wrong bool
	}{
		"none":             {nil, "", true, false},
		"one":              {[]device.PortInfo{built}, "/dev/ttyS0", false, false},
		"one is on USB":    {[]device.PortInfo{built, usb}, "/dev/ttyUSB0", false, false},
		"two on USB":       {[]device.PortInfo{usb, built, second}, "", false, true},
		"two are built in": {[]device.PortInfo{built, {Name: "/dev/ttyS1"}}, "", false, true},
	} {
		c := measureCmd{}
		err := c.findGauge(tt.ports)
		assert.Equal(t, tt.wrong, err != nil, name)
		assert.Equal(t, tt.from, c.from, name)
		assert.Equal(t, tt.keyed, c.Keyed, name)
	}
}

// The step begun last goes on, optional or not; a finished job is opened on its
// last result.
func TestMeasureGoesOnWithWhatWasBegunLast(t *testing.T) {
	folder, err := job.Create(filepath.Join(t.TempDir(), "job"), sheet.ExampleTOML())
	require.NoError(t, err)
	defer folder.Close()
	chosen := func() string {
		c := measureCmd{}
		require.NoError(t, c.choose(folder))
		return c.Stage + " " + c.Feature
	}
	assert.Equal(t, "as-found backlash", chosen())
	begun := record.Blank(record.StageAsFound, record.FeatureRunoutBackFace, time.Now())
	begun.Position, begun.Value, begun.Unit, begun.Quality = 1, 0.01, "mm", record.QualityOK
	_, err = folder.Append(begun)
	require.NoError(t, err)
	assert.Equal(t, "as-found runout-back-face", chosen(), "optional, and begun")
}
