package gum

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// By hand: five readings of a feeler of 0.100, mean 0.1012, deviation 0.0013038.
func TestGaugeCheckByHand(t *testing.T) {
	window := Limits{0.13, 0.20, "mm"}
	c, err := CheckGauge(0.100, 0.001, []float64{0.100, 0.102, 0.101, 0.103, 0.100}, window, 0.001)
	require.NoError(t, err)
	assert.Equal(t, 5, c.N)
	assert.InDelta(t, 0.0012, c.Bias, 1e-12)
	assert.InDelta(t, 0.00130384, c.Repeatability, 1e-8)
	assert.InDelta(t, 0.2*0.07/(6*0.00130384), c.Cg, 1e-4)
	assert.InDelta(t, (0.007-0.0012)/(3*0.00130384), c.Cgk, 1e-4)
	u := math.Sqrt(0.001*0.001 + 0.0013038*0.0013038/5 + 0.001*0.001/12)
	assert.InEpsilon(t, u, c.BiasU, 0.01)
	assert.False(t, c.Off, "0.0012 is within twice 0.0012")

	// Each part alone: the size as stated; of five readings the deviation of their mean
	// by t for four, over two; a step of the display as a rectangle, 95 % of it.
	part := func(sizeU float64, readings []float64, step float64) float64 {
		c, err := CheckGauge(0.1, sizeU, readings, window, step)
		require.NoError(t, err)
		return c.BiasU
	}
	still := []float64{0.1, 0.1, 0.1, 0.1, 0.1}
	assert.InDelta(t, 0.0007, part(0.0007, still, 0), 1e-12)
	assert.InDelta(t, 0.00130384/math.Sqrt(5)*2.776445/2, part(0, []float64{0.100, 0.102, 0.101, 0.103, 0.100}, 0), 1e-8)
	assert.InDelta(t, 0.95*0.0005/1.959964, part(0, still, 0.001), 3e-8)

	c, err = CheckGauge(0.100, 0.0002, []float64{0.103, 0.103, 0.103}, window, 0.001)
	require.NoError(t, err)
	assert.InDelta(t, Resolution(0.001), c.Repeatability, 1e-12, "digits that stand still repeat no better than they show")
	assert.True(t, c.Off)
	open, err := CheckGauge(0.1, 0, []float64{0.1, 0.1, 0.1}, NoLimits("mm"), 0.001)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(open.Cg) && math.IsNaN(open.Cgk))
	for _, bad := range [][]float64{nil, {0.1, 0.1}, {0.1, 0.1, math.NaN()}, {0.1, math.Inf(1), 0.1}} {
		_, err := CheckGauge(0.1, 0, bad, window, 0.001)
		require.ErrorIs(t, err, ErrFewReadings)
	}
	_, err = CheckGauge(0.1, -1, []float64{0.1, 0.1, 0.1}, window, 0.001)
	require.ErrorIs(t, err, ErrBadComponent)
}

// A gauge that is right is called off in one check of twenty at most.
func TestGaugeThatIsRight(t *testing.T) {
	rnd := rand.New(rand.NewSource(11))
	const runs = 3000
	for _, c := range []struct{ noise, step float64 }{{0.002, 0.001}, {0.0004, 0.001}, {0.003, 0.01}} {
		off := 0
		for range runs {
			size := 0.1 + 0.1*rnd.Float64()
			known := size + 0.0005*rnd.NormFloat64() // what is engraved on it
			readings := make([]float64, 8)
			for i := range readings {
				readings[i] = math.Round((size+c.noise*rnd.NormFloat64())/c.step) * c.step
			}
			check, err := CheckGauge(known, 0.0005, readings, NoLimits(""), c.step)
			require.NoError(t, err)
			if check.Off {
				off++
			}
		}
		assert.LessOrEqual(t, float64(off)/runs, 0.06, "%+v", c)
	}
}

// A set-up that is a spring, pushed by hands that differ: the doubt left for the
// usual push holds what it gives, and is small for a stiff one.
func TestHandCheckOfSprings(t *testing.T) {
	rnd := rand.New(rand.NewSource(5))
	const runs = 2000
	for _, stiff := range []struct{ give, most float64 }{{0.0003, 0.0046}, {0.002, 0.012}, {0.006, 0.03}} {
		held, sum := 0, 0.0
		for range runs {
			ratio, usual := 2+2*rnd.Float64(), rnd.Float64()
			var light, firm []float64
			for range 4 {
				at := 0.15 + 0.03*rnd.Float64()
				push := 0.8 + 0.4*rnd.Float64()
				light = append(light, at+stiff.give*push+0.0004*rnd.NormFloat64())
				firm = append(firm, at+ratio*stiff.give*push+0.0004*rnd.NormFloat64())
			}
			h, err := CheckHand(light, firm, 0)
			require.NoError(t, err)
			sum += h.Push / runs
			if stiff.give*(1+(ratio-1)*usual) <= h.Push {
				held++
			}
		}
		t.Logf("light push gives %.4f: doubt %.4f, held %.3f", stiff.give, sum, float64(held)/runs)
		assert.GreaterOrEqual(t, float64(held)/runs, 0.93, "%v", stiff)
		assert.LessOrEqual(t, sum, stiff.most)
	}
	_, err := CheckHand([]float64{0.1, 0.1, 0.1}, []float64{0.1}, 0)
	require.ErrorContains(t, err, "differ in number")
	_, err = CheckHand([]float64{0.1, 0.1}, []float64{0.1, 0.1}, 0)
	require.ErrorIs(t, err, ErrFewReadings)
	soft, err := CheckHand([]float64{0.15, 0.16, 0.15}, []float64{0.149, 0.159, 0.149}, 0.001)
	require.NoError(t, err)
	assert.InDelta(t, 2*2*soft.GiveU, soft.Push, 1e-12, "nothing gives way the other way")
}
