package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"crownlog/analysis/internal/check"
	"crownlog/analysis/internal/stat"
)

// Source: NIST StRD, ENSO: pressure differences over 168 months. Period 12 alone,
// as a harmonic: computed here to 50 digits.
func TestENSOHarmonics(t *testing.T) {
	var angle, y []float64
	for _, row := range check.Rows(t, "../internal/stat/testdata/strd/ENSO.csv")[1:] {
		angle, y = append(angle, 30*check.Number(t, row[0])), append(y, check.Number(t, row[1]))
	}
	h, err := FitHarmonics(angle, y, 1)
	require.NoError(t, err)
	assert.InDelta(t, 3.0904200605125, h.Harmonics[0].Amplitude, 1e-12)
	assert.InDelta(t, 8.9387166931465, h.Harmonics[0].PhaseDeg, 1e-10)
	assert.InDelta(t, 10.641666666666667, h.Mean, 1e-12)
	both, err := FitHarmonics(angle, y, 1, 2)
	require.NoError(t, err)
	assert.InDelta(t, 1132.4047376505951, stat.Square(both.ResidualSD)*float64(len(y)-5), 1e-9)
}

func TestPureSinesRecovered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(8, 40).Draw(t, "n")
		a1, p1 := rapid.Float64Range(0.001, 1).Draw(t, "a1"), rapid.Float64Range(0, 359.9).Draw(t, "p1")
		a2, p2 := rapid.Float64Range(0.001, 1).Draw(t, "a2"), rapid.Float64Range(0, 179.9).Draw(t, "p2")
		offset := rapid.Float64Range(-100, 100).Draw(t, "offset")
		var angle, value []float64
		for i := range n {
			a := 360*float64(i)/float64(n) + rapid.Float64Range(-15, 15).Draw(t, "jitter")
			angle = append(angle, a)
			value = append(value, offset+a1*math.Cos((a-p1)*math.Pi/180)+a2*math.Cos(2*(a-p2)*math.Pi/180))
		}
		f, err := FitHarmonics(angle, value, 1, 2)
		require.NoError(t, err)
		assert.InDelta(t, a1, f.Harmonics[0].Amplitude, 1e-9)
		assert.InDelta(t, a2, f.Harmonics[1].Amplitude, 1e-9)
		assert.InDelta(t, 0, check.ApartDeg(p1, f.Harmonics[0].PhaseDeg, 360), 1e-5)
		assert.InDelta(t, 0, check.ApartDeg(p2, f.Harmonics[1].PhaseDeg, 180), 1e-5)
		assert.True(t, f.Harmonics[0].PhaseDeg >= 0 && f.Harmonics[0].PhaseDeg < 360)
		assert.True(t, f.Harmonics[1].PhaseDeg >= 0 && f.Harmonics[1].PhaseDeg < 180)
		assert.InDelta(t, value[0], f.At(angle[0]), 1e-9)
		turned := make([]float64, n)
		for i, a := range angle {
			turned[i] = a + 50
		}
		g, err := FitHarmonics(turned, value, 1, 2)
		require.NoError(t, err)
		assert.InDelta(t, 0, check.ApartDeg(p1+50, g.Harmonics[0].PhaseDeg, 360), 1e-5, "turning the angles turns the phase")
	})
}

func TestNotSeparable(t *testing.T) {
	four := []float64{0, 90, 180, 270}
	_, err := FitHarmonics(four, []float64{1, 2, 3, 4}, 2)
	assert.ErrorIs(t, err, stat.ErrNotSeparable)
	_, err = FitHarmonics([]float64{0, 1, 2, 3, 4, 5, 6, 7, 8}, make([]float64, 9), 1, 2)
	assert.ErrorIs(t, err, stat.ErrNotSeparable, "all on one side")
	_, err = FitHarmonics(nil, nil, 1)
	assert.ErrorIs(t, err, stat.ErrNotSeparable)
	_, err = FitHarmonics(four, []float64{1, 2, math.NaN(), 4}, 1)
	assert.ErrorIs(t, err, stat.ErrNotFinite)
	_, err = FitHarmonics([]float64{0, 1, 2, 3, math.Inf(1)}, make([]float64, 5), 1)
	assert.EqualError(t, err, "point 5: "+stat.ErrNotFinite.Error())
	_, err = FitHarmonics(four[:2], []float64{1, 2}, 1)
	assert.EqualError(t, err, stat.ErrNotSeparable.Error()+": 2 points for 3 parameters")
	f, err := FitHarmonics([]float64{0, 120, 240}, []float64{1, 2, 4}, 1)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(f.ResidualSD), "three points leave nothing to tell scatter by")
}
