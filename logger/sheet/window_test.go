package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

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
