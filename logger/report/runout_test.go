package report

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// runoutOf is a run-out without a window; a feature that is not known is its own
// title.
func runoutOf(title string, result runout.Result) Measured {
	var m Measured
	m.Feature, m.Format, m.Spec.Limits, m.Runout = title, Format{"mm", 3}, gum.NoLimits("mm"), &result
	return m
}

func TestRunoutNotes(t *testing.T) {
	assert.Equal(t, []string{
		"Run-out of the bore could not be measured: 2 places are too few for a run-out; 1.50 turns of 12 s recognised.",
		"Run-out of the face: a narrow spot at 45°, +0.050 mm, is left out; it came back a turn later: burr, paint or bruise.",
		"Run-out of the face: a narrow spot at 200°, −0.031 mm, is left out.",
	}, runoutNotes([]Measured{
		runoutOf("run-out of the bore", runout.Result{Refused: true, Notes: []analysis.Note{analysis.FewPlaces.Of(2), analysis.TurnsSeen.Of(1.5, 12)}}),
		runoutOf("run-out of the face", runout.Result{Spikes: []runout.Spike{
			{AngleDeg: 45, Height: 0.05, Repeats: true}, {AngleDeg: 200, Height: -0.031},
		}}),
	}))
}

// The marks of the picture are the readings at their angles, the curve is what the
// harmonics make of them: once a turn 0.03 about a mean of 0.10.
func TestRunoutWheel(t *testing.T) {
	m := runoutOf("run-out", runout.Result{FIM: 0.06, H1: &analysis.Harmonic{Amplitude: 0.03, PhaseDeg: 0}})
	m.Round.Mean = 0.10
	for i, v := range []float64{0.13, 0.10, 0.07, 0.10} {
		m.Results = append(m.Results, feature.Result{Capture: record.Capture{Position: i + 1, AngleDeg: 90 * float64(i), Value: v}})
	}
	p, s := Data{}.wheel(m, nil), wheelScale(m)
	var centres, curve []point
	for _, k := range p.marks {
		if k.radius > 0 && k.ink.fill == colourPaper {
			centres = append(centres, k.points[0])
		}
		if len(k.points) > 50 {
			curve = k.points
		}
	}
	require.Len(t, centres, 4)
	require.Len(t, curve, 120)
	for i, c := range centres {
		assert.InDelta(t, c.x, curve[30*i].x, 1e-9, "these lie on it")
		assert.InDelta(t, c.y, curve[30*i].y, 1e-9)
	}
	assert.InDelta(t, hub.y-s.at(0.13), centres[0].y, 1e-9)
	assert.Equal(t, "Full movement, 1× 0.060 at 0°. Position 1 is at the top and the numbers run clockwise.", p.desc)

	m.Results = nil // of a turn: about nothing
	assert.InDelta(t, 0.03, m.fitted()[0], 1e-12)
	assert.InDelta(t, -0.03, m.fitted()[60], 1e-12)
	m.Runout = &runout.Result{}
	assert.Empty(t, m.fitted())
}

func TestRunoutMissingHarmonics(t *testing.T) {
	j := &demoJob{}
	j.add(record.StageBench, record.FeatureRunoutBore, 0, math.NaN(), 0.02, 0.002, "mm")
	s := runoutSection(Build(demoSheet(), j.captures, reportDate))
	require.Len(t, s.Rows, 1, "nothing to draw")
	assert.Equal(t, []string{"Pilot, on the bench", "0.020", "–", "–", "–", "–", "–", "not decided"}, tableTexts(s.Rows[0][0].Table)[9:])
}

func TestEngagementShowsTheSlowest(t *testing.T) {
	j := &demoJob{}
	for i, v := range []float64{0.5, 0.9, 0.6} {
		j.add("final", record.FeatureEngagement, i+1, math.NaN(), v, math.NaN(), "s")
	}
	d := Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.Judged, 1)
	assert.InDelta(t, 0.9, d.Judged[0].Value, 1e-12)
	assert.Equal(t, "slowest of 3 cycles", d.Judged[0].Text)
}

func TestChangeWhen(t *testing.T) {
	for _, tc := range [][3]string{
		{"as-found", "bench", "when the crown wheel went on the new centre"},
		{"as-found", "set-up", "when the backlash was set up"},
		{"as-found", "final", "from as found to final"},
		{"set-up", "caps-torqued", "when the caps were torqued"},
		{"caps-torqued", "final", "up to the final check"},
		{"final", "re-check", "by stage re-check"},
	} {
		assert.Equal(t, tc[2], changeWhen(tc[0], tc[1]))
	}
}

// A back face out of limit says what to do, and a measured preload what the
// carrier's bearings take of it.
func TestConclusions(t *testing.T) {
	j := &demoJob{captures: demoCaptures()}
	j.add(record.StageSetUp, record.FeaturePreloadPinion, 0, math.NaN(), 1.46, 0.05, "N·m")
	d := Build(demoSheet(), j.captures, reportDate)
	assert.Equal(t, []string{"Total preload, caps torqued: The pinion's bearings take 1.46 N·m of it, the carrier's 2.71 ± 0.64 N·m at the crown wheel (41:10 teeth), mesh drag included."},
		conclusions(d, record.FeaturePreloadTotal))
	together := conclusions(d, record.FeatureRunoutBackFace, record.FeatureBacklash)
	require.Len(t, together, 1, "the back face is inside: %q", together)
	assert.Contains(t, together[0], "Backlash, final: The back face explains ")

	j = &demoJob{}
	j.runout(record.StageBench, record.FeatureRunoutFlange, 0.02, 0, 0, 0)
	j.runout(record.StageBench, record.FeatureRunoutBackFace, 0.05, 0, 0, 0)
	out := Build(demoSheet(), j.captures, reportDate)
	assert.Contains(t, strings.Join(pageTexts(compose(out)), "\n"), "Run-out of the back face, on the bench: Turn the crown wheel by 5 bolt holes on its flange")
	assert.Contains(t, written(t, JSON, out), `"conclusion": "Turn the crown wheel by 5 bolt holes`)
}
