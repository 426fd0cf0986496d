package setup

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

func TestStacksFromTheBox(t *testing.T) {
	box := Box{Sizes: []float64{1.5, 0.7, 0.8, 0.95, 1.05, 0.3}, Near: 2.45, Far: 2.30}
	near, far, ok := box.Stacks(0.1)
	require.True(t, ok)
	assert.Equal(t, Side{By: 0.1, MM: 2.55, Sizes: []float64{1.5, 1.05}}, near)
	assert.Equal(t, Side{By: -0.1, MM: 2.2, Sizes: []float64{1.5, 0.7}}, far)
	near, far, ok = box.Stacks(-0.05)
	require.True(t, ok)
	assert.Equal(t, 0.0, near.MM+far.MM-4.75, "the preload is kept first")

	_, _, ok = Box{Sizes: []float64{5}, Near: 2.4, Far: 2.3}.Stacks(0.1)
	assert.False(t, ok)
	_, _, ok = Box{Sizes: []float64{0.1}, Near: 2.4, Far: 2.3}.Stacks(0.1)
	assert.False(t, ok, "of twenty-five shims no stack is made")
	assert.False(t, Box{Sizes: []float64{1}, Near: 1, Far: math.NaN()}.Known())
}

// Against every pair of stacks there is, tried one by one.
func TestStacksAgainstAllOfThem(t *testing.T) {
	rnd := rand.New(rand.NewSource(3))
	for range 60 {
		var sizes []float64
		for range 2 + rnd.Intn(5) {
			sizes = append(sizes, float64(20+rnd.Intn(200))/100)
		}
		var stacks []int
		var grow func(sum, n int)
		grow = func(sum, n int) {
			if n > 0 {
				stacks = append(stacks, sum)
			}
			for _, mm := range sizes {
				if n < mostShims {
					grow(sum+micrometres(mm), n+1)
				}
			}
		}
		grow(0, 0)
		box := Box{Sizes: sizes, Near: 1 + float64(rnd.Intn(300))/100, Far: 1 + float64(rnd.Intn(300))/100}
		shift := float64(rnd.Intn(41)-20) / 100
		best := math.Inf(1)
		cost := func(near, far int) float64 {
			n, f := float64(near)/1000-box.Near, float64(far)/1000-box.Far
			return 16*(n+f)*(n+f) + (n-f-2*shift)*(n-f-2*shift)
		}
		for _, near := range stacks {
			for _, far := range stacks {
				within := math.Abs(float64(near)/1000-box.Near-shift) < 0.1005 && math.Abs(float64(far)/1000-box.Far+shift) < 0.1005
				if within {
					best = math.Min(best, cost(near, far))
				}
			}
		}
		nearest, furthest, ok := box.Stacks(shift)
		require.Equal(t, !math.IsInf(best, 1), ok)
		if !ok {
			continue
		}
		assert.InDelta(t, best, cost(micrometres(nearest.MM), micrometres(furthest.MM)), 1e-9)
		for _, side := range []Side{nearest, furthest} {
			sum := 0.0
			for _, mm := range side.Sizes {
				assert.Contains(t, sizes, mm)
				sum += mm
			}
			assert.InDelta(t, side.MM, sum, 1e-9)
			assert.LessOrEqual(t, len(side.Sizes), mostShims)
		}
	}
}

func TestAdviceIsOfStacksInTheBox(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}}
	advise := func(sizes ...float64) Advice {
		box := Box{Sizes: sizes, Near: 2.4, Far: 2.4}
		return NewAdjusterModel(0.65, 0.05).Advise(flatRound(0.24, 0.01, spec), spec, AdviceOptions{Shims: true, Box: box})
	}
	a := advise(2.4, 2.28, 2.52)
	assert.InDelta(t, 0.12, a.Steps, 1e-9, "what is there, not the 0.10 that was wanted")
	assert.InDelta(t, 0.24-0.12*0.65, a.Predicted, 1e-9)
	assert.Equal(t, []float64{0.12, -0.12}, []float64{a.Near.By, a.Far.By})
	for _, none := range [][]float64{{2.4}, {2.4, 2.15, 2.65}, {1.7}, {2.4, 2.52}} {
		a := advise(none...)
		assert.Equal(t, NoStack, a.Outcome, none)
		assert.False(t, a.Needed)
	}
	uneven := advise(2.31, 2.5)
	assert.InDelta(t, 0.095, uneven.Steps, 1e-9)
	assert.Equal(t, []float64{0.1, -0.09}, []float64{uneven.Near.By, uneven.Far.By})
}
