package stat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWeighted(t *testing.T) {
	one, x := []float64{1, 1, 1, 1}, []float64{0, 1, 2, 3}
	b, u, rest, ok := Weighted([][]float64{one, x}, []float64{1, 3, 5, 90}, []float64{1, 1, 1, 0})
	require.True(t, ok)
	assert.InDeltaSlice(t, []float64{1, 2}, b, 1e-12)
	assert.InDeltaSlice(t, []float64{0, 0, 0, 83}, rest, 1e-12, "what has no weight has a residual")
	assert.InDeltaSlice(t, []float64{math.Sqrt(5.0 / 6), math.Sqrt(1.0 / 2)}, u, 1e-12, "of (XᵀX)⁻¹ for 0, 1, 2")
	b, u, _, ok = Weighted([][]float64{one}, []float64{1, 2, 3, 6}, []float64{1, 1, 1, 3})
	require.True(t, ok)
	assert.InDelta(t, 4, b[0], 1e-12)
	assert.InDelta(t, 1/math.Sqrt(6), u[0], 1e-12)
	_, _, _, ok = Weighted([][]float64{{1}, {2}}, []float64{1}, []float64{1})
	assert.False(t, ok, "fewer rows than columns")
	_, _, _, ok = Weighted([][]float64{one, one}, x, one)
	assert.False(t, ok, "two columns alike")
	_, _, _, ok = Weighted([][]float64{{1}}, []float64{7}, []float64{1})
	assert.True(t, ok, "as many rows as columns")
	_, _, _, ok = Weighted([][]float64{{1, 1}}, []float64{7, 7}, []float64{math.NaN(), 1})
	assert.False(t, ok)
}

func TestScales(t *testing.T) {
	assert.InDelta(t, 1.5*1.4826, ResidualScale([]float64{0, -3, 1, 0, 2}, 2), 1e-12, "the median of 0 1 2 3")
	assert.InDelta(t, 3*1.4826, ResidualScale([]float64{0, -3, 1}, 10), 1e-12)
	assert.InDelta(t, 2, MedianMagnitude([]float64{-5, 1, -2}), 1e-12)
	assert.InDelta(t, 1.4826022185056018, RobustSD([]float64{1, 2, 3, 2, 100, 1}), 1e-12)
}
