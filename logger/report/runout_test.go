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
	"crownlog/logger/record"
)

// runoutOf is a run-out without a window; a feature that is not known is its own
// title.
func runoutOf(title string, result runout.Result) Runout {
	var r Runout
	r.Feature, r.Format, r.Spec.Limits, r.Runout = title, Format{"mm", 3}, gum.NoLimits("mm"), &result
	return r
}

func TestRunoutNotes(t *testing.T) {
	assert.Equal(t, []string{
		"Run-out of the bore could not be measured: 2 places are too few for a run-out; 1.50 turns of 12 s recognised.",
		"Run-out of the face: a narrow spot at 45°, +0.050 mm, is left out; it came back a turn later: burr, paint or bruise.",
		"Run-out of the face: a narrow spot at 200°, −0.031 mm, is left out.",
	}, runoutNotes([]Runout{
		runoutOf("run-out of the bore", runout.Result{Refused: true, Notes: []analysis.Note{analysis.FewPlaces.Of(2), analysis.TurnsSeen.Of(1.5, 12)}}),
		runoutOf("run-out of the face", runout.Result{Spikes: []runout.Spike{
			{AngleDeg: 45, Height: 0.05, Repeats: true}, {AngleDeg: 200, Height: -0.031},
		}}),
	}))
}

// The points of the picture are the readings about their mean, at their angles.
func TestRunoutPicturePoints(t *testing.T) {
	r := runoutOf("run-out", runout.Result{FIM: 0.06, H1: &analysis.Harmonic{Amplitude: 0.03, PhaseDeg: 20}})
	for i, v := range []float64{0.13, 0.11, 0.07, 0.09} {
		r.Points = append(r.Points, record.Capture{AngleDeg: 90 * float64(i), Value: v})
	}
	p := runoutPicture(r)
	var centres []point
	for _, m := range p.marks {
		if m.radii.x > 0 && m.ink.fill == colourPaper {
			centres = append(centres, m.points[0])
		}
	}
	require.Len(t, centres, 4)
	c := newChart(0, 1, "", "", "")
	for i, r := range r.Points {
		assert.InDelta(t, c.left+r.AngleDeg/360*(c.right-c.left), centres[i].x, 1e-9)
	}
	assert.InDelta(t, 3, (centres[2].y-centres[0].y)/(centres[3].y-centres[1].y), 1e-9, "0.03 either way against 0.01")
	assert.Equal(t, "Full indicator movement 0.060 mm, once per turn 0.060 mm with its high spot at 20°. No window entered.", p.desc)
}

func TestRunoutMissingHarmonics(t *testing.T) {
	nan := math.NaN()
	table := runoutTable([]Runout{runoutOf("run-out of the pilot", runout.Result{FIM: 0.02, ResidualSD: nan, FIMIfReseated: nan})})
	assert.Equal(t, []string{"Pilot", "0.020", "–", "–", "–", "–", "–", "not decided"}, tableTexts(table)[9:])
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
