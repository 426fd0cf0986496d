package rocking

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"crownlog/analysis"
	"crownlog/analysis/units"
)

// drawTrace draws a sound trace of a gauge with some noise.
func drawTrace(t *rapid.T) rockTrace {
	class := rapid.SampledFrom(gaugeClasses[1:]).Draw(t, "gauge")
	return soundTrace(rapid.Uint64Range(0, 1<<40).Draw(t, "seed"), class.count, class.noise)
}

func mapped(s []analysis.Sample, f func(analysis.Sample) analysis.Sample) []analysis.Sample {
	out := make([]analysis.Sample, len(s))
	for i, v := range s {
		out[i] = f(v)
	}
	return out
}

// alike fails unless sound traces and what change makes of them, scaled by what it
// returns, give the same results but for the scale. Of a coarse gauge the last bit of
// a reading may move a block of the trace from one side of a limit to the other, so
// one trace in a hundred may differ.
func alike(t *testing.T, change func(rng *rand.Rand, s []analysis.Sample) ([]analysis.Sample, float64)) {
	const traces = 300
	var differ []string
	for i := range traces {
		rng := rand.New(rand.NewPCG(uint64(i), 5))
		class := pick(rng, gaugeClasses[1:]...)
		s := soundTrace(rng.Uint64N(1<<40), class.count, class.noise).make()
		changed, scale := change(rng, s)
		want, got := Measure(s, Options{}), Measure(changed, Options{})
		limit := 0.5 * want.ExpandedUncertainty
		if want.Refused != got.Refused || !want.Refused && (math.Abs(got.Value/scale-want.Value) > limit || math.Abs(got.HighStop-got.LowStop-scale*(want.HighStop-want.LowStop)) > limit) {
			differ = append(differ, fmt.Sprintf("%s: %v ± %v %v became %v %v", class.name, want.Value, want.ExpandedUncertainty, want.Faults, got.Value/scale, got.Faults))
		}
	}
	assert.LessOrEqual(t, len(differ), traces/100, "%v", differ)
}

func TestBacklashIgnoresZeroAndClock(t *testing.T) {
	alike(t, func(rng *rand.Rand, s []analysis.Sample) ([]analysis.Sample, float64) {
		by, later := float64(rng.IntN(8001)-4000)/1024, float64(rng.IntN(2<<20)-1<<20)
		return mapped(s, func(v analysis.Sample) analysis.Sample { return analysis.Sample{T: v.T + later, X: v.X + by} }), 1
	})
}

func TestBacklashIgnoresPolarity(t *testing.T) {
	alike(t, func(_ *rand.Rand, s []analysis.Sample) ([]analysis.Sample, float64) {
		return mapped(s, func(v analysis.Sample) analysis.Sample { return analysis.Sample{T: v.T, X: -v.X} }), 1
	})
}

func TestBacklashScales(t *testing.T) {
	alike(t, func(rng *rand.Rand, s []analysis.Sample) ([]analysis.Sample, float64) {
		k := pick(rng, 0.25, 0.5, 2, 4)
		return mapped(s, func(v analysis.Sample) analysis.Sample { return analysis.Sample{T: v.T, X: v.X * k} }), k
	})
}

// A trace written down in inches and read back in millimetres is the same trace.
func TestBacklashIgnoresTheUnit(t *testing.T) {
	alike(t, func(_ *rand.Rand, s []analysis.Sample) ([]analysis.Sample, float64) {
		return mapped(s, func(v analysis.Sample) analysis.Sample {
			in, err := units.Convert(v.X, "mm", "in")
			require.NoError(t, err)
			mm, err := units.Convert(in, "in", "mm")
			require.NoError(t, err)
			return analysis.Sample{T: v.T, X: mm}
		}), 1
	})
}

// More rocks may show that the first ones promised too much, but not by much.
func TestMoreRocksDoNotHurt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawTrace(t)
		c.Partial, c.Rocks = 0, 14
		s := c.make()
		var first Backlash
		r := New(Options{})
		for i, v := range s {
			for _, e := range r.Add(v) {
				if e.Kind == RockCounted && e.Rocks == 6 {
					first = Measure(s[:i+1], Options{})
				}
			}
		}
		all := r.Result()
		if first.Rocks < 6 || first.Refused || all.Refused {
			return
		}
		// They may show a creep that the first ones did not, or that stops are missed: those
		// are other doubts.
		more := 2 * (math.Max(0, all.GiveWayU-first.GiveWayU) + math.Sqrt2*math.Max(0, all.Repeatability-first.Repeatability))
		if all.ExpandedUncertainty > 1.5*first.ExpandedUncertainty+0.0005+0.1*c.Resolution+more {
			t.Fatalf("±%v of %d rocks became ±%v of %d", first.ExpandedUncertainty, first.Rocks, all.ExpandedUncertainty, all.Rocks)
		}
	})
}

// The live result is the result of the file so far, and asking for it changes
// nothing.
func TestStreamEqualsBatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawTrace(t)
		c.Fault = rapid.SampledFrom([]analysis.Fault{"", "", analysis.PinionSlip, analysis.ZeroShift, analysis.OffGear, analysis.Gaps, analysis.Frozen, analysis.UnitFlip}).Draw(t, "fault")
		s := c.make()
		if rapid.Bool().Draw(t, "hands") {
			h := faultyHand(c.Seed, c.Resolution, c.Noise, c.Fault)
			h.Rate = min(h.Rate, 200)
			s = h.make()
		}
		asked, silent := New(Options{}), New(Options{})
		for i, v := range s {
			silent.Add(v)
			for _, e := range asked.Add(v) {
				if e.Kind != StopFound {
					continue
				}
				// %v, because NaN is not equal to itself
				if live, file := fmt.Sprint(asked.Result()), fmt.Sprint(Measure(s[:i+1], Options{})); live != file {
					t.Fatalf("after sample %d\nlive %v\nfile %v", i, live, file)
				}
			}
			if i%97 == 0 {
				asked.Result()
			}
		}
		if a, b := fmt.Sprint(asked.Result()), fmt.Sprint(silent.Result()); a != b {
			t.Fatalf("asked  %v\nsilent %v", a, b)
		}
	})
}

func TestRockingDoesNotAllocate(t *testing.T) {
	r := New(Options{})
	s := longTrace(100)
	for _, v := range s {
		r.Add(v)
	}
	i, base := 0, s[len(s)-1].T+0.01
	allocs := testing.AllocsPerRun(2000, func() {
		r.Add(analysis.Sample{T: base + s[i].T, X: s[i].X})
		i++
	})
	assert.Zero(t, allocs)
}
