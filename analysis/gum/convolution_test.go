package gum

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Source: JCGM 101:2008, 9.2.3 and 9.2.4, additive model of four rectangles (from
// memory; the exact sums agree): ±3.88 where the formula of the GUM gives ±3.92,
// and with one of ten times the deviation ±17.0 where it gives ±19.9.
func TestConvolvedRectangles(t *testing.T) {
	one := math.Sqrt(3) // half width for a standard deviation of 1
	assert.InDelta(t, 3.88, Convolved(0, one, one, one, one), 0.005)
	assert.InDelta(t, 17.0, Convolved(0, one, one, one, 10*one), 0.05)
	assert.InDelta(t, 19.9, HalfWidthFactor*math.Sqrt(103), 0.05)
}

// Source: exact. 95 % of one rectangle is 0.95 of it; of two alike, a triangle,
// 1-√0.05; of a normal quantity the normal quantile.
func TestConvolvedExactly(t *testing.T) {
	assert.InDelta(t, 0.95*4.4, Convolved(0, 4.4), 1e-6, "no more than the rectangle")
	assert.InDelta(t, 2*(1-math.Sqrt(0.05)), Convolved(0, 1, 1), 1e-6)
	assert.InDelta(t, HalfWidthFactor, Convolved(1), 1e-6)
	assert.InDelta(t, 3*HalfWidthFactor, Convolved(3, 1e-9), 1e-6)
	assert.InDelta(t, Convolved(1, 0.0101), Convolved(1, 0.0099), 1e-5, "thick enough for its edges or not")
	assert.Zero(t, Convolved(0))
	assert.True(t, math.IsNaN(Convolved(0, math.NaN())))
	assert.InDelta(t, Convolved(1, 2, 3), Convolved(1, 3, 2), 1e-6)
}

// Source: EA-4/02 M:2022, S2 (calibration of a weight of 10 kg) and S4 (of a gauge
// block of 50 mm), from memory; the components sum to what is printed.
func TestEA402(t *testing.T) {
	inf := math.Inf(1)
	weight, err := Combine([]Component{
		{"standard", 22.5, 1, inf, false}, {"drift", 8.66, 1, inf, false}, {"difference", 14.4, 1, inf, false},
		{"comparator", 5.77, 1, inf, false}, {"buoyancy", 5.77, 1, inf, false},
	})
	require.NoError(t, err)
	assert.InDelta(t, 29.3, weight.Combined, 0.06, "mg")
	block, err := Combine([]Component{
		{"standard", 15, 1, inf, false}, {"drift", 17.3, 1, inf, false}, {"difference", 5.37, 1, inf, false}, {"comparator", 18.5, 1, inf, false},
		{"temperature", 16.6, 1, inf, false}, {"expansion", 11.8, 1, inf, false}, {"variation in length", 3.87, 1, inf, false},
	})
	require.NoError(t, err)
	assert.InDelta(t, 36.4, block.Combined, 0.3, "nm")
	assert.InDelta(t, 73, 2*block.Combined, 0.6, "nm")
}

// A rectangle of ±4.4 alone is stated as 4.3, not as the 5.1 of the formula, and
// guarded by 3.96, the one-sided 95 % of it; a normal quantity is as it was, and
// between them 95 % of the sum lies within what is stated and guarded.
func TestStatedAndGuarded(t *testing.T) {
	inf := math.Inf(1)
	alone, err := Combine([]Component{{"push", Rectangular(4.4), 1, inf, true}})
	require.NoError(t, err)
	assert.InDelta(t, 0.95*4.4*2/HalfWidthFactor, 2*alone.Stated(), 0.02)
	assert.InDelta(t, 0.9*4.4, 1.65*Guarding(alone.Stated(), alone.Even), 0.03)
	rnd := rand.New(rand.NewSource(7))
	for _, sigma := range []float64{0.2, 0.8, 1.5, 2.54, 5} {
		b, err := Combine([]Component{{"own", sigma, 1, inf, false}, {"small", 0.3, 1, inf, true}, {"push", Rectangular(2.2), 2, inf, true}})
		require.NoError(t, err)
		assert.InDelta(t, Rectangular(4.4), b.Even, 1e-12, "the widest of two")
		const runs = 40000
		two, one := 0, 0
		u := b.Stated()
		guard := 1.645 * Guarding(u, b.Even)
		assert.LessOrEqual(t, 2*u, 2.0001*b.Combined)
		for range runs {
			x := sigma*rnd.NormFloat64() + 4.4*(2*rnd.Float64()-1) + 0.3*math.Sqrt(3)*(2*rnd.Float64()-1)
			if math.Abs(x) <= HalfWidthFactor*u {
				two++
			}
			if x <= guard {
				one++
			}
		}
		assert.InDelta(t, 0.95, float64(two)/runs, 0.005, "σ %g", sigma)
		assert.InDelta(t, 0.95, float64(one)/runs, 0.005, "σ %g", sigma)
	}
	assert.InDelta(t, 1, Guarding(1, 0), 0)
	assert.InDelta(t, 1, Guarding(1, math.NaN()), 0)
	assert.True(t, math.IsNaN(Guarding(math.NaN(), 1)))
	assert.InDelta(t, Guarding(1, 1.3), Guarding(1, 99), 0.01, "a rectangle at most")
}

// The table is what the convolution gives, between its lines too.
func TestShapes(t *testing.T) {
	for w := 0.0; w <= 1; w += 0.025 {
		s := shapes.at(func(s shape) float64 { return s.share }, w)
		for p, got := range map[float64]float64{0.95: s.two, 0.90: s.one} {
			want := math.Min(1, convolved(p, math.Sqrt(1-w), math.Sqrt(3*w))/normal.Quantile((1+p)/2))
			assert.InDelta(t, want, got, 0.002, "share %g", w)
		}
	}
	for _, s := range shapes { // four digits of it
		if s.share < 1 {
			assert.InDelta(t, convolved(0.95, math.Sqrt(1-s.share), math.Sqrt(3*s.share))/normal.Quantile(0.975), s.two, 6e-5, "share %g", s.share)
			assert.InDelta(t, math.Min(1, convolved(0.90, math.Sqrt(1-s.share), math.Sqrt(3*s.share))/normal.Quantile(0.95)), s.one, 6e-5, "share %g", s.share)
		}
	}
	assert.True(t, math.IsNaN(Convolved(math.NaN(), 1)))
	assert.True(t, math.IsInf(Convolved(math.Inf(1), 1), 1))
	assert.Zero(t, Convolved(0, 0))
}
