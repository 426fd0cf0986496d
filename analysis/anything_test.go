package analysis_test

import (
	"encoding/binary"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/analysis/torque"
)

// asNumbers turns any bytes into numbers: mostly small ones, some wild.
func asNumbers(b []byte) []float64 {
	var x []float64
	for len(b) >= 2 {
		v := float64(int16(binary.LittleEndian.Uint16(b))) / 100
		switch v {
		case 327.67:
			v = math.NaN()
		case 327.66:
			v = math.Inf(1)
		case -327.68:
			v = -math.MaxFloat64
		case 327.65:
			v = math.SmallestNonzeroFloat64
		}
		x = append(x, v)
		b = b[2:]
	}
	return x
}

// FuzzMeasurements feeds anything to everything: no panic, and a result is
// either refused with NaN and its word, or finite.
func FuzzMeasurements(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{0, 0, 1, 0})
	long := make([]byte, 0, 800)
	for i := range 200 {
		long = append(long, byte(i), 0, byte(50+20*math.Sin(float64(i)/9)), byte(i%2))
	}
	f.Add(long)
	f.Add([]byte{0xff, 0x7f, 0xfe, 0x7f, 0x00, 0x80, 0xfd, 0x7f, 1, 0, 2, 0, 3, 0, 0xff, 0x7f})
	f.Fuzz(func(t *testing.T, b []byte) {
		x := asNumbers(b)
		if len(x) > 600 {
			x = x[:600]
		}
		var pairs, steady []analysis.Sample
		var air []leak.Sample
		var around []runout.Point
		for i := range x {
			steady = append(steady, analysis.Sample{float64(i) / 20, x[i]})
			air = append(air, leak.Sample{T: float64(i), P: x[i], TempC: x[len(x)-1-i]})
			if i%2 == 1 {
				pairs = append(pairs, analysis.Sample{x[i-1], x[i]})
				around = append(around, runout.Point{AngleDeg: x[i-1], Value: x[i]})
			}
		}
		sound := func(refused bool, faults []analysis.Fault, v float64) {
			assert.Equal(t, refused, math.IsNaN(v))
			assert.True(t, !refused || len(faults) > 0)
		}
		for _, s := range [][]analysis.Sample{pairs, steady} {
			r := runout.MeasureTurn(s, runout.Options{})
			sound(r.Refused, r.Faults, r.FIM)
			p := torque.MeasurePreload(s, torque.PreloadOptions{})
			sound(p.Refused, p.Faults, p.Running)
			q := torque.Measure(slices.Values(s), torque.Options{})
			assert.Equal(t, q.Refused, len(q.Peaks) == 0)
			torque.Measure(slices.Values(s), torque.Options{Threshold: 5})
		}
		r := runout.Measure(around, runout.Options{})
		sound(r.Refused, r.Faults, r.FIM)
		l := leak.Measure(air, leak.Options{})
		sound(l.Refused, l.Faults, l.RatePerMin)
		var points []analysis.RoundPoint
		for i, p := range around {
			points = append(points, analysis.RoundPoint{i % 7, p.AngleDeg, p.Value, p.AngleDeg, 0, 0})
		}
		spec := analysis.RoundSpec{gum.Limits{Lower: -1, Upper: 1, Unit: ""}, 1, -2, analysis.RuleAnyInside}
		round := analysis.AnalyseRound(points, 5, spec)
		setup.NewAdjusterModel(0.1, 0.1).Advise(round, spec, setup.AdviceOptions{})
		analysis.CompareStages(points, points, analysis.Same{})
		_, _ = setup.FollowsRunout(points, analysis.Harmonic{1, 2}, 0.7, 3)
	})
}

func BenchmarkTorque(b *testing.B) {
	b.ReportAllocs()
	t := torque.New(torque.Options{Target: 100})
	i := 0
	for b.Loop() {
		i++
		t.Add(analysis.Sample{float64(i) / 1000, 100 * math.Abs(math.Sin(float64(i)/2000))})
	}
}
