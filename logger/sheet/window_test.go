package sheet

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
)

func TestWindowConvertsConvention(t *testing.T) {
	s := Example()
	same := s.Window(record.FeatureBacklash)
	assert.InDelta(t, 0.13, same.Limits.Lower, 1e-12)
	s.Plunger.Measured, s.Plunger.Spec = "normal", "transverse"
	k := math.Cos(20*math.Pi/180) * math.Cos(33*math.Pi/180)
	w := s.Window(record.FeatureBacklash)
	assert.InDelta(t, 0.13*k, w.Limits.Lower, 1e-8)
	assert.InDelta(t, 0.08*k, w.MaxSpread, 1e-8)
	assert.Equal(t, []float64{1}, s.WindowFactors(record.FeatureBacklash), "the window is converted already")
	s.Plunger.Spec = "unknown"
	assert.Equal(t, same.Limits, s.Window(record.FeatureBacklash).Limits)
	assert.InDeltaSlice(t, []float64{1, k}, s.WindowFactors(record.FeatureBacklash), 1e-12)
	assert.Equal(t, []float64{1}, s.WindowFactors(record.FeatureRunoutBackFace))
}

func TestWindowsOfOtherFeatures(t *testing.T) {
	s := Example()
	bolts := s.Window(record.FeatureWheelBolts)
	assert.InDelta(t, 98*0.90, bolts.Limits.Lower, 1e-9)
	assert.InDelta(t, 98*1.10, bolts.Limits.Upper, 1e-9)
	none := s.Window(record.FeatureOilFill)
	assert.Equal(t, gum.Limits{}.Unit+"L", none.Limits.Unit)
	assert.True(t, math.IsNaN(none.Limits.Lower) && math.IsNaN(none.Limits.Upper) && math.IsNaN(none.MaxSpread))
}

func TestRadiusRatio(t *testing.T) {
	for _, tt := range []struct{ contact, heel, want float64 }{
		{100, 106, 1.06}, {0.5, 1, 2}, {0, 106, 1}, {100, 0, 1}, {0, 0, 1},
	} {
		s := Sheet{Plunger: Plunger{ContactRadius: tt.contact, HeelRadius: tt.heel}}
		assert.InDelta(t, tt.want, s.RadiusRatio(), 1e-12)
	}
}

func TestBacklashWithoutAWindow(t *testing.T) {
	var s Sheet
	spec := s.Window(record.FeatureBacklash)
	assert.False(t, spec.Limits.Any())
	assert.Equal(t, "mm", spec.Limits.Unit)
	_, ok := s.Printed(record.FeatureBacklash)
	assert.False(t, ok)
	factor, known := s.PlungerFactor()
	assert.Equal(t, 1.0, factor)
	assert.False(t, known)
	s.Gauge.ResolutionMM, s.Gauge.MPEMM = 0.01, 0.003
	assert.Equal(t, 0.01, s.RunoutOptions().Resolution)
	assert.Equal(t, 0.003, s.RunoutOptions().MPE)
}

// TestWindowOfAStage: the old bearings have a figure of their own as found, and the
// new ones theirs in every other stage.
func TestWindowOfAStage(t *testing.T) {
	const text = "schema = 2\n[vehicle]\nlabel = \"v\"\n[preload]\nwith_seal = false\n" +
		"[[window]]\nfeature = \"preload-total\"\nunit = \"N·m\"\nlower = 1.7\nupper = 2.5\nbearings = \"new\"\n" +
		"[[window]]\nfeature = \"preload-total\"\nstage = \"as-found\"\nunit = \"lbf·in\"\nlower = 5\nbearings = \"used\"\nwith_seal = true\n"
	s, err := Parse("", []byte(text))
	require.NoError(t, err)
	found, set := s.InStage(record.StageAsFound), s.InStage(record.StageCaps)
	require.Len(t, found.Windows, 1)
	require.Len(t, set.Windows, 1)
	assert.Len(t, s.Windows, 2, "the sheet itself is as it was")
	assert.InDelta(t, 0.565, found.Window(record.FeaturePreloadTotal).Limits.Lower, 0.001)
	assert.Equal(t, "lbf·in", found.UnitFor(record.FeaturePreloadTotal))
	assert.Equal(t, 2.5, set.Window(record.FeaturePreloadTotal).Limits.Upper)
	assert.Equal(t, "running torque, used bearings, with the seal", found.PreloadOf(record.FeaturePreloadTotal).Words())
	assert.Equal(t, "running torque, new bearings, without the seal", set.PreloadOf(record.FeaturePreloadTotal).Words())

	for change, want := range map[[2]string]string{
		{"stage = \"as-found\"\n", ""}:                  "window.feature: preload-total has a window already",
		{"stage = \"as-found\"", "stage = \"sold\""}:    "window.stage: \"sold\": want as-found",
		{"bearings = \"used\"", "bearings = \"old\""}:   "window.bearings: \"old\": want new, used",
		{"preload-total\"\nstage", "backlash\"\nstage"}: "window.stage: only a preload has a window of its own in a stage",
	} {
		_, err := Parse("", []byte(strings.Replace(text, change[0], change[1], 1)))
		assert.ErrorContains(t, err, want)
	}
}
func TestWindowInTheFeaturesUnitIsNotSaidTwice(t *testing.T) {
	assert.Empty(t, Example().PrintedWindow(record.FeatureBacklash))
	assert.Empty(t, Example().PrintedWindow(record.FeatureOilFill))
	assert.Equal(t, "L", Example().UnitFor(record.FeatureOilFill))
}

// TestLength: 0.1524 mm are 0.0060 in. Source: an inch is 25.4 mm.
func TestLength(t *testing.T) {
	for unit, want := range map[string]string{"": "0.152 ± 0.010 mm", "mm": "0.152 ± 0.010 mm", "in": "0.0060 ± 0.0004 in", "thou": "6.0 ± 0.4 thou"} {
		s := Sheet{Windows: []Window{{Feature: record.FeatureBacklash, Unit: unit}}}
		assert.Equal(t, want, s.Length(0.1524, 0.01016))
		assert.Equal(t, s.Length(0.1524), s.Length(0.1524, math.NaN()), "an uncertainty that is not known")
	}
}
