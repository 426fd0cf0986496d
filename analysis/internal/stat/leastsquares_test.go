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
	var x, y, one []float64
	for _, row := range check.Rows(t, "strd/ENSO.csv")[1:] {
		x, y, one = append(x, check.Number(t, row[0])), append(y, check.Number(t, row[1])), append(one, 1)
	}
	require.Len(t, x, 168)
	columns := [][]float64{one}
	for _, period := range []float64{12, 44.311088700, 26.887614440} {
		angle := make([]float64, len(x))
		for i := range x {
			angle[i] = 360 * x[i] / period
		}
		columns = append(columns, Sinusoids(angle, 1)[1:]...)
	}
	b, _, rest, ok := Weighted(columns, y, one, 1e4)
	require.True(t, ok)
	rss := 0.0
	for _, r := range rest {
		rss += r * r
	}
	for i, c := range []struct{ want, digits float64 }{
		{10.510749193, 10}, {3.0762128085, 10}, {0.53280138227, 9}, {-1.6231428586, 9}, {0.52554493756, 9}, {0.21232288488, 8}, {1.4966870418, 10},
	} {
		assert.GreaterOrEqual(t, check.Digits(b[i], c.want), c.digits, "coefficient %d: %.12g", i, b[i])
	}
	assert.GreaterOrEqual(t, check.Digits(rss, 788.53978668), 10.5)
}

// Columns as good as the same are refused by the condition asked for.
func TestWorstCondition(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4}
	alike := [][]float64{{1, 1, 1, 1, 1}, x, {0, 1, 2, 3, 4.0001}}
	_, _, _, ok := Weighted(alike, x, alike[0], 1e4)
	assert.False(t, ok)
	_, _, _, ok = Weighted(alike, x, alike[0], 1e7)
	assert.True(t, ok)
}

func TestWeighted(t *testing.T) {
	one, x := []float64{1, 1, 1, 1}, []float64{0, 1, 2, 3}
	b, u, rest, ok := Weighted([][]float64{one, x}, []float64{1, 3, 5, 90}, []float64{1, 1, 1, 0}, 1e7)
	require.True(t, ok)
	assert.InDeltaSlice(t, []float64{1, 2}, b, 1e-12)
	assert.InDeltaSlice(t, []float64{0, 0, 0, 83}, rest, 1e-12, "what has no weight has a residual")
	assert.InDeltaSlice(t, []float64{math.Sqrt(5.0 / 6), math.Sqrt(1.0 / 2)}, u, 1e-12, "of (XᵀX)⁻¹ for 0, 1, 2")
	b, u, _, ok = Weighted([][]float64{one}, []float64{1, 2, 3, 6}, []float64{1, 1, 1, 3}, 1e7)
	require.True(t, ok)
	assert.InDelta(t, 4, b[0], 1e-12)
	assert.InDelta(t, 1/math.Sqrt(6), u[0], 1e-12)
	_, _, _, ok = Weighted([][]float64{{1}, {2}}, []float64{1}, []float64{1}, 1e7)
	assert.False(t, ok, "fewer rows than columns")
	_, _, _, ok = Weighted([][]float64{one, one}, x, one, 1e7)
	assert.False(t, ok, "two columns alike")
	_, _, _, ok = Weighted([][]float64{{1}}, []float64{7}, []float64{1}, 1e7)
	assert.True(t, ok, "as many rows as columns")
	_, _, _, ok = Weighted([][]float64{{1, 1}}, []float64{7, 7}, []float64{math.NaN(), 1}, 1e7)
	assert.False(t, ok)
}

func TestScales(t *testing.T) {
	assert.InDelta(t, 1.5*NormalMAD, ResidualScale([]float64{0, -3, 1, 0, 2}, 2), 1e-12, "the median of 0 1 2 3")
	assert.InDelta(t, 3*NormalMAD, ResidualScale([]float64{0, -3, 1}, 10), 1e-12)
	assert.InDelta(t, 2, MedianMagnitude([]float64{-5, 1, -2}), 1e-12)
	assert.InDelta(t, 1.4826022185056018, RobustSD([]float64{1, 2, 3, 2, 100, 1}), 1e-12)
}
