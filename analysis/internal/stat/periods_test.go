package stat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/internal/check"
)

// Source: NIST StRD, nonlinear regression, ENSO (Kahaner, Moler and Nash 1989).
// With the certified periods held the problem is linear and its solution must
// be the certified one (confirmed to 9 digits and more). The sinusoid that the
// e-Handbook fits to LEW is not a least-squares minimum and is no check.
func TestStRDENSO(t *testing.T) {
	var x, y []float64
	for _, row := range check.Rows(t, "strd/ENSO.csv")[1:] {
		x, y = append(x, check.Number(t, row[0])), append(y, check.Number(t, row[1]))
	}
	require.Len(t, x, 168)
	f, err := FitPeriods(x, y, 12, 44.311088700, 26.887614440)
	require.NoError(t, err)
	for _, c := range []struct {
		name      string
		got, want float64
		digits    float64
	}{
		{"b1", f.Constant, 10.510749193, 10}, {"b2", f.Cos[0], 3.0762128085, 10}, {"b3", f.Sin[0], 0.53280138227, 9},
		{"b5", f.Cos[1], -1.6231428586, 9}, {"b6", f.Sin[1], 0.52554493756, 9},
		{"b8", f.Cos[2], 0.21232288488, 8}, {"b9", f.Sin[2], 1.4966870418, 10},
		{"residual sum of squares", f.RSS, 788.53978668, 10.5},
	} {
		t.Logf("%s: %.1f digits", c.name, check.Digits(c.got, c.want))
		assert.GreaterOrEqual(t, check.Digits(c.got, c.want), c.digits, "%s %.12g", c.name, c.got)
	}
}

func TestFitPeriodsNeedsEnough(t *testing.T) {
	x, y := []float64{0, 1, 2, 3, 4}, []float64{1, 2, 3, 2, 1}
	_, err := FitPeriods(x, y[:4], 5)
	assert.EqualError(t, err, "places and values differ in number")
	_, err = FitPeriods(x[:2], y[:2], 5)
	assert.EqualError(t, err, ErrNotSeparable.Error()+": 2 points for 3 parameters")
	_, err = FitPeriods(x, y, 5, 5)
	assert.ErrorIs(t, err, ErrNotSeparable, "the same twice")
	_, err = FitPeriods(x, y, 5, 5.0001)
	assert.ErrorIs(t, err, ErrNotSeparable, "as good as the same")
	_, err = FitPeriods([]float64{0, 1, math.NaN(), 3, 4}, y, 5)
	assert.EqualError(t, err, "point 3: "+ErrNotFinite.Error())
	_, err = FitPeriods(x, []float64{0, 1, 2, 3, math.Inf(1)}, 5)
	assert.EqualError(t, err, "point 5: "+ErrNotFinite.Error())
	f, err := FitPeriods([]float64{0, 1, 2}, []float64{3, 3, 3}, 3)
	require.NoError(t, err, "three points for three parameters")
	assert.Zero(t, f.DoF)
	assert.InDelta(t, 3, f.Constant, 1e-12)
	assert.True(t, math.IsNaN(f.ResidualSD) && math.IsNaN(f.AmplitudeU[0]))
}

// Places that favour the cosine: what is known of an amplitude depends on which
// of the two makes it up. Source: s²·(XᵀX)⁻¹, worked by hand for two columns of
// a design whose columns are orthogonal.
func TestAmplitudeOfUnevenPlaces(t *testing.T) {
	x := []float64{0, 0, 180, 180, 90, 270} // cos: 1 1 -1 -1 0 0, sin: 0 0 0 0 1 -1
	y := []float64{5.1, 4.9, -5.1, -4.9, 0, 0}
	f, err := FitPeriods(x, y, 360)
	require.NoError(t, err)
	s := math.Sqrt(0.04 / 3)
	assert.InDelta(t, 5, f.Cos[0], 1e-12)
	assert.InDelta(t, 0, f.Sin[0], 1e-12)
	assert.InDelta(t, 0.04, f.RSS, 1e-12)
	assert.InDelta(t, s, f.ResidualSD, 1e-12)
	assert.InDelta(t, s/2, f.AmplitudeU[0], 1e-12, "four readings carry the cosine")
	assert.InDeltaSlice(t, []float64{0.1, -0.1, -0.1, 0.1, 0, 0}, f.Residuals, 1e-12)
	f, err = FitPeriods(x, []float64{0.1, -0.1, -0.1, 0.1, 5, -5}, 360)
	require.NoError(t, err)
	assert.InDelta(t, s/math.Sqrt2, f.AmplitudeU[0], 1e-12, "two the sine")
}
