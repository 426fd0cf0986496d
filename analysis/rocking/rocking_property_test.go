package rocking

import (
	"fmt"
	"math"
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

// same fails unless two results agree but for the scale: the last bit of a
// reading may move a block of the trace from one side of a limit to the other, or
// another stop be left out and a creep just be seen, which must not be seen beside
// the uncertainty.
func same(t *rapid.T, want, got Backlash, scale float64) {
	if want.Refused || got.Refused {
		if want.Refused != got.Refused {
			t.Fatalf("refused %v %v, then %v %v", want.Refused, want.Faults, got.Refused, got.Faults)
		}
		return
	}
	if math.Abs(got.Value/scale-want.Value) > 0.5*want.ExpandedUncertainty {
		t.Fatalf("value %v ± %v became %v at scale %v", want.Value, want.ExpandedUncertainty, got.Value, scale)
	}
}

func TestBacklashIgnoresZeroAndClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawTrace(t).make()
		by := float64(rapid.IntRange(-4000, 4000).Draw(t, "shift")) / 1024
		later := float64(rapid.IntRange(-1<<20, 1<<20).Draw(t, "later"))
		moved := mapped(s, func(v analysis.Sample) analysis.Sample { return analysis.Sample{T: v.T + later, X: v.X + by} })
		same(t, Measure(s, Options{}), Measure(moved, Options{}), 1)
	})
}

func TestBacklashIgnoresPolarity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawTrace(t).make()
		turned := mapped(s, func(v analysis.Sample) analysis.Sample { return analysis.Sample{T: v.T, X: -v.X} })
		a, b := Measure(s, Options{}), Measure(turned, Options{})
		same(t, a, b, 1)
		if !a.Refused && (math.Abs(a.LowStop+b.HighStop) > 1e-9 || math.Abs(a.HighStop+b.LowStop) > 1e-9) {
			t.Fatalf("stops %v %v became %v %v", a.LowStop, a.HighStop, b.LowStop, b.HighStop)
		}
	})
}

func TestBacklashScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawTrace(t).make()
		k := rapid.SampledFrom([]float64{0.25, 0.5, 2, 4}).Draw(t, "scale")
		scaled := mapped(s, func(v analysis.Sample) analysis.Sample { return analysis.Sample{T: v.T, X: v.X * k} })
		same(t, Measure(s, Options{}), Measure(scaled, Options{}), k)
	})
}

// A trace written down in inches and read back in millimetres is the same trace.
func TestBacklashIgnoresTheUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawTrace(t).make()
		back := mapped(s, func(v analysis.Sample) analysis.Sample {
			in, err := units.Convert(v.X, "mm", "in")
			require.NoError(t, err)
			mm, err := units.Convert(in, "in", "mm")
			require.NoError(t, err)
			return analysis.Sample{T: v.T, X: mm}
		})
		same(t, Measure(s, Options{}), Measure(back, Options{}), 1)
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
		// They may show a creep that the first ones did not: that is another doubt.
		more := 2 * math.Max(0, all.GiveWayU-first.GiveWayU)
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
