package digit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestGridFindsTheLastDigit(t *testing.T) {
	for _, c := range []struct {
		d    []float64
		want float64
	}{
		{[]float64{0.03, 0.02, -0.05}, 0.01}, {[]float64{0.03, 0.03, 0}, 0.03}, {[]float64{0.0254, 0.0635}, 0.0127}, {[]float64{7, 7 + 1e-9, 14}, 7},
		{nil, 0}, {[]float64{1, math.Sqrt2, math.Pi}, 0}, {[]float64{0.05, 0.02, math.E, 0.01}, 0}, {[]float64{0.004, 0.001, 0.0005}, 0.0005},
	} {
		var g Grid
		for _, d := range c.d {
			g.Add(d)
		}
		assert.InDelta(t, c.want, g.Step, 1e-9, "%v", c.d)
	}
}

// Source: rounding simulated over all places between two counts.
func TestDither(t *testing.T) {
	assert.InDelta(t, 1.0/12, Bias2(0, 1), 1e-12)
	assert.InDelta(t, 4.0/12, Bias2(0, 2), 1e-12)
	assert.InDelta(t, 0.0772, Bias2(0.011, 1), 1e-4, "summed from a hundredth of a count on")
	assert.InDelta(t, 1/(2*math.Pi*math.Pi)*math.Exp(-math.Pi*math.Pi), Bias2(0.5, 1), 1e-9)
	assert.Zero(t, Bias2(1, 0))
	rng := rand.New(rand.NewPCG(7, 7))
	for _, sigma := range []float64{0.1, 0.2, 0.4, 1} {
		bias, variance := 0.0, 0.0
		const places, n = 200, 400
		for k := range places {
			at, sum, sq := float64(k)/places, 0.0, 0.0
			for range n {
				v := math.Round(at+sigma*rng.NormFloat64()) - at
				sum, sq = sum+v, sq+v*v
			}
			bias += sum * sum / n / n / places
			variance += (sq - sum*sum/n) / (n - 1) / places
		}
		assert.InDelta(t, Bias2(sigma, 1), bias, 0.1*Bias2(sigma, 1)+sigma*sigma/n*1.5, "σ %g", sigma)
		assert.InDelta(t, sigma, Undither(variance, 1), 0.05*sigma+0.005, "σ %g", sigma)
	}
	assert.Equal(t, 3.0, Undither(9, 0))
}

func TestAllOnOne(t *testing.T) {
	assert.Equal(t, 1.0, AllOnOne(0, 0.01, 9))
	assert.InDelta(t, math.Pow(0.6826895, 3), AllOnOne(0.005, 0.01, 3), 1e-6, "within one deviation three times")
}
