package rocking

import (
	"math"
	"testing"

	"crownlog/analysis"
)

// longTrace is rocking without end: 6 rocks, over and over.
func longTrace(rate float64) []analysis.Sample {
	c := rockTrace{
		Seed: 1, Hands: "scripted", Backlash: 0.15, Rate: rate, Resolution: 0.001,
		Noise: 0.002, Scatter: 0.0005, Rocks: 40, Dwell: 0.5, Uneven: 0.5, Traverse: 0.25,
	}
	return c.make()
}

// BenchmarkRocking streams a trace through the detector, as a file and live;
// BenchmarkMaxMin, the baseline, keeps the largest and the smallest reading of the
// same trace.
func BenchmarkRocking(b *testing.B) {
	for _, rate := range []float64{10, 100, 1000} {
		b.Run(benchName(rate), func(b *testing.B) { stream(b, rate, Options{Quiet: true}) })
		b.Run("live"+benchName(rate), func(b *testing.B) { stream(b, rate, Options{}) })
	}
}

func stream(b *testing.B, rate float64, o Options) {
	s := longTrace(rate)
	r := New(o)
	end := s[len(s)-1].T + 1/rate
	i, base := 0, 0.0
	b.ReportAllocs()
	for b.Loop() {
		v := s[i]
		r.Add(analysis.Sample{T: v.T + base, X: v.X})
		if i++; i == len(s) {
			i, base = 0, base+end
		}
	}
	b.ReportMetric(1e3/(float64(b.Elapsed().Nanoseconds())/float64(b.N)), "Msamples/s")
}

func BenchmarkMeasureBacklash(b *testing.B) {
	s := longTrace(100)
	b.ReportAllocs()
	for b.Loop() {
		Measure(s, Options{})
	}
	b.ReportMetric(1e3*float64(len(s))/(float64(b.Elapsed().Nanoseconds())/float64(b.N)), "Msamples/s")
}

func BenchmarkMaxMin(b *testing.B) {
	s := longTrace(1000)
	lo, hi := math.Inf(1), math.Inf(-1)
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		lo, hi = math.Min(lo, s[i].X), math.Max(hi, s[i].X)
		if i++; i == len(s) {
			i = 0
		}
	}
	b.ReportMetric(1e3/(float64(b.Elapsed().Nanoseconds())/float64(b.N)), "Msamples/s")
}

func BenchmarkRockingResult(b *testing.B) {
	r := New(Options{})
	for _, v := range longTrace(100)[:1500] {
		r.Add(v)
	}
	b.ReportAllocs()
	for b.Loop() {
		r.Result()
	}
}

func benchName(rate float64) string {
	switch rate {
	case 10:
		return "10Hz"
	case 100:
		return "100Hz"
	}
	return "1kHz"
}
