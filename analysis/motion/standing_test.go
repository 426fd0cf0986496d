package motion

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// stood are the rests that a Standing finds in readings at so many a second.
func stood(step, rate float64, x ...float64) (levels, moved []float64) {
	m := Standing{Step: step}
	for i, v := range x {
		if level, away, rested := m.Add(analysis.Sample{T: float64(i) / rate, X: v}); rested {
			levels, moved = append(levels, level), append(moved, away)
		}
	}
	return levels, moved
}

// rest is n readings about a level with noise.
func rest(rnd *rand.Rand, n int, level, noise float64) (x []float64) {
	for range n {
		x = append(x, level+noise*rnd.NormFloat64())
	}
	return x
}

// Each rest is found once, with or without noise, by quick gauges and slow ones.
func TestStandingFindsEachRestOnce(t *testing.T) {
	for _, rate := range []float64{4, 10, 100} {
		for _, noise := range []float64{0, 0.0005, 0.002} {
			rnd := rand.New(rand.NewSource(1))
			n := int(math.Max(10, 2*rate))
			x := rest(rnd, n, 0.1, noise)
			for _, level := range []float64{0.25, 0.1, 0.254} {
				last := x[len(x)-1]
				for i := range int(rate/4) + 1 {
					x = append(x, last+(level-last)*float64(i)/(rate/4+1))
				}
				x = append(x, rest(rnd, n, level, noise)...)
			}
			levels, moved := stood(0.001, rate, x...)
			require.Len(t, levels, 4, "%g a second, noise %g", rate, noise)
			assert.InDeltaSlice(t, []float64{0.1, 0.25, 0.1, 0.254}, levels, 3*noise/math.Sqrt(fewestStanding)+1e-9)
			assert.InDeltaSlice(t, []float64{0.15, 0.15, 0.154}, moved[1:], 0.004+6*noise)
		}
	}
}

func TestStandingOnlyAtRest(t *testing.T) {
	var slow, rocking, wide []float64
	for i := range 200 {
		slow = append(slow, 0.002*float64(i))
		rocking = append(rocking, 0.07*math.Sin(2*math.Pi*float64(i)/4))
		wide = append(wide, 0.03*math.Sin(2*math.Pi*float64(i)/5))
	}
	for name, x := range map[string][]float64{"a slow turn": slow, "rocking": rocking, "more than hangs free": wide} {
		levels, _ := stood(0.001, 10, x...)
		assert.Empty(t, levels, name)
	}
	levels, _ := stood(0.001, 100, rest(rand.New(rand.NewSource(1)), 60, 0.1, 0)...)
	assert.Empty(t, levels, "59 intervals of 0.01 s are too short")
	levels, _ = stood(0.001, 100, rest(rand.New(rand.NewSource(1)), 61, 0.1, 0)...)
	assert.Len(t, levels, 1)
	levels, _ = stood(0.001, 4, 0.1, 0.1, 0.1, 0.1, 0.1)
	assert.Empty(t, levels, "too few to tell")
	levels, _ = stood(0.01, 10, 0.10, 0.11, 0.12, 0.11, 0.10, 0.11, 0.12, 0.11)
	assert.Len(t, levels, 1, "two counts are the display's")
	levels, _ = stood(0.01, 10, 0.10, 0.11, 0.13, 0.11, 0.10, 0.11, 0.13, 0.11)
	assert.Empty(t, levels, "three are not")
	levels, _ = stood(0.001, 10, math.NaN(), math.Inf(1), 2e9)
	assert.Empty(t, levels)
}

// One wild reading is no movement, though the rest is told once more behind it.
func TestStandingAndAWildReading(t *testing.T) {
	x := rest(rand.New(rand.NewSource(1)), 80, 0.1, 0)
	x[40] = 5
	levels, moved := stood(0.001, 20, x...)
	require.Len(t, levels, 2)
	assert.Zero(t, moved[1])
}
