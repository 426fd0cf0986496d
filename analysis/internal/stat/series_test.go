package stat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDisplayStep(t *testing.T) {
	assert.InDelta(t, 0.001, DisplayStep([]float64{0.123, 0.125, 0.130, 0.123}), 1e-12)
	assert.InDelta(t, 0.0254, DisplayStep([]float64{25.4 * 0.120, 25.4 * 0.123, 25.4 * 0.125}), 1e-9)
	assert.InDelta(t, 0.1, DisplayStep([]float64{700, 698.1, 696}), 1e-9)
	assert.Zero(t, DisplayStep([]float64{0.5, 0.5}))
	assert.Zero(t, DisplayStep(nil))
	assert.InDelta(t, 0.25, DisplayStep([]float64{1, 1.25}), 1e-12, "two are enough")
	assert.InDelta(t, 3, DisplayStep([]float64{-6, 0, 9}), 1e-12)
	assert.Zero(t, DisplayStep([]float64{1, 1 + 1e-8, 2}), "far below what any display shows")
	assert.Zero(t, DisplayStep([]float64{math.Sqrt2, math.Pi, math.E, math.Ln2}), "not rounded to any step")
}

func TestSmoothed(t *testing.T) {
	assert.Equal(t, []float64{2, 3, 4}, Smoothed([]float64{1, 2, 3, 4, 5}, 1))
	assert.Equal(t, []float64{3}, Smoothed([]float64{1, 2, 3, 4, 5}, 2))
	assert.Equal(t, []float64{1, 2, 3}, Smoothed([]float64{1, 2, 3}, 2), "too short to smooth")
}

func TestDifferencesAndExtremes(t *testing.T) {
	assert.Equal(t, []float64{1, -3}, Differences([]float64{1, 2, -1}))
	assert.Equal(t, []float64{0}, Differences([]float64{4}))
	low, high := Extremes([]float64{3, -1, 7})
	assert.Equal(t, [2]float64{-1, 7}, [2]float64{low, high})
	low, high = Extremes(nil)
	assert.True(t, math.IsInf(low, 1) && math.IsInf(high, -1))
}

func TestQuantiles(t *testing.T) {
	x := []float64{10, 20, 40}
	for p, want := range map[float64]float64{0: 10, 0.25: 15, 0.5: 20, 0.75: 30, 1: 40} {
		assert.Equal(t, want, SortedQuantile(x, p), p)
	}
	assert.InDelta(t, math.Sqrt2/2, StdDev([]float64{1, 2}), 1e-15)
}
