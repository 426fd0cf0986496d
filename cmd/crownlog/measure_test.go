package main

import (
	"io"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
	"crownlog/cmd/crownlog/live"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/record"
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
			err := (&measureCmd{Job: "axle"}).sumUp(&console{out: io.Discard, err: io.Discard}, tt.ends)
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
		"crownlog measure axle --stage final --feature backlash --keyed": {Job: "axle", Keyed: true},
		`crownlog measure axle --stage final --feature backlash --port /dev/a --gauge mine.toml --port /dev/b --by "A. Fitter"`: {
			Job: "axle", Port: []string{"/dev/a", "/dev/b"}, Gauge: []string{"mine.toml"}, signer: signer{"A. Fitter"}},
	} {
		assert.Equal(t, want, c.goOn(round))
	}
}
