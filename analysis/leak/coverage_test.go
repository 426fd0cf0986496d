package leak

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/internal/noted"
)

// A line is an invented closed volume: a leak, air that warms or cools, a gauge
// whose noise goes together from reading to reading.
type line struct {
	start, rate, minutes float64 // kPa, kPa/min
	warming              float64 // °C over the test
	thermometer          bool
	noise, together      float64 // kPa, and how much of it the next reading keeps
	display              float64
}

func (l line) read(rnd *rand.Rand) []Sample {
	const ambient, kelvin = 101.325, 293.15
	var s []Sample
	n := l.noise * rnd.NormFloat64()
	for t := 0.0; t <= 60*l.minutes; t += 2 {
		warmer := l.warming * t / 60 / l.minutes
		p := (l.start-l.rate*t/60+ambient)*(kelvin+warmer)/kelvin - ambient + n
		n = l.together*n + math.Sqrt(1-l.together*l.together)*l.noise*rnd.NormFloat64()
		temp := math.NaN()
		if l.thermometer {
			temp = 20 + math.Round(10*warmer)/10
		}
		s = append(s, Sample{t, math.Round(p/l.display) * l.display, temp})
	}
	return s
}

// Twice the standard uncertainty covers the true rate. Without a thermometer the
// air may have warmed by anything within a limit: all of that is covered.
func TestLeakCoverage(t *testing.T) {
	const runs = 80
	covered, all := 0.0, 0.0
	for _, together := range []float64{0, 0.5, 0.9, 0.95} {
		for _, display := range []float64{0.1, 1} {
			for _, thermometer := range []bool{true, false} {
				rnd := rand.New(rand.NewSource(5))
				within := 0.0
				for range runs {
					l := line{start: 100 + 600*rnd.Float64(), rate: 2 * rnd.Float64(), minutes: 5 + 10*rnd.Float64(), thermometer: thermometer, noise: 0.3, together: together, display: display}
					l.warming = 2 * (2*rnd.Float64() - 1) * math.Min(1, l.minutes/10)
					if r := Measure(l.read(rnd), Options{Resolution: display, TempResolution: 0.1}); math.Abs(r.RatePerMin-l.rate) <= 2*r.RateU {
						within++
					}
				}
				assert.Greater(t, within/runs, 0.92, "noise %g together, display %g, thermometer %t", together, display, thermometer)
				if thermometer {
					covered, all = covered+within, all+runs
				}
			}
		}
	}
	assert.InDelta(t, 0.965, covered/all, 0.03)
}

// A gauge that stuck and was tapped steps by 1.5 kPa: said, and no part of the leak.
func TestTappedGauge(t *testing.T) {
	for _, step := range []float64{1.5, -1.5} {
		s := line{start: 690, rate: 0.2, minutes: 15, noise: 0.1, display: 0.1, thermometer: true}.read(rand.New(rand.NewSource(3)))
		plain := Measure(s, Options{Resolution: 0.1, TempResolution: 0.1})
		for i := range s {
			if s[i].T > 400 {
				s[i].P += step
			}
		}
		r := Measure(s, Options{Resolution: 0.1, TempResolution: 0.1})
		assert.Equal(t, []analysis.Fault{analysis.ZeroShift}, r.Faults)
		assert.InDelta(t, 0.2, r.RatePerMin, 0.03)
		assert.InDelta(t, 3, r.Drop, 0.4)
		assert.Greater(t, r.RateU, plain.RateU)
		figures := noted.Figures(r.Notes, analysis.GaugeStepped)
		assert.InDeltaSlice(t, []float64{step}, figures[:1], 0.1)
		assert.InDelta(t, 401, figures[1], 8)
	}
	// A slow fall on a coarse display goes by steps too.
	for seed := range int64(20) {
		s := line{start: 690, rate: 0.25, minutes: 10, display: 1, thermometer: true}.read(rand.New(rand.NewSource(seed)))
		assert.Empty(t, Measure(s, Options{Resolution: 1}).Faults)
	}
}

// Twelve kPa in the first 40 s and 0.3 a minute after count as what was lost.
func TestQuickLossCounts(t *testing.T) {
	s := line{start: 690, rate: 0.3, minutes: 10, noise: 0.1, display: 0.1, thermometer: true}.read(rand.New(rand.NewSource(3)))
	for i := range s {
		s[i].P += 12 * math.Max(0, 1-s[i].T/40)
	}
	r := Measure(s, Options{Resolution: 0.1, TempResolution: 0.1})
	assert.InDelta(t, 15, r.Drop, 0.6)
	assert.InDelta(t, 1.5, r.RatePerMin, 0.06)
	assert.InDelta(t, 702, r.Start, 0.6)
	assert.InDeltaSlice(t, []float64{12, 40}, noted.Figures(r.Notes, analysis.QuickLoss), 6)
	s[0].P += 30 // one wild reading is no loss
	assert.InDelta(t, 15, Measure(s, Options{Resolution: 0.1, TempResolution: 0.1}).Drop, 0.8)
}
