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

// A thermometer in the air that swings by up to 1 °C comes a minute late, or counts in
// whole degrees: the rate is covered all the same.
func TestLeakByALateThermometer(t *testing.T) {
	const runs = 60
	for name, c := range map[string]struct{ late, step float64 }{"late": {60, 0.1}, "coarse": {0, 1}} {
		rnd := rand.New(rand.NewSource(8))
		within := 0.0
		for range runs {
			rate, minutes := rnd.Float64(), 8+7*rnd.Float64()
			swing, every, phase := rnd.Float64(), 300+900*rnd.Float64(), 2*math.Pi*rnd.Float64()
			air := func(t float64) float64 { return 20.3 + swing*math.Sin(2*math.Pi*t/every+phase) }
			seen := air(0)
			var s []Sample
			for at := 0.0; at <= 60*minutes; at += 5 {
				seen += (air(at) - seen) * 5 / math.Max(5, c.late)
				p := (600-rate*at/60+101.325)*(273.15+air(at))/293.15 - 101.325 + 0.2*rnd.NormFloat64()
				s = append(s, Sample{at, math.Round(10*p) / 10, math.Round(seen/c.step) * c.step})
			}
			if r := Measure(s, Options{Resolution: 0.1, TempResolution: c.step}); math.Abs(r.RatePerMin-rate*(273.15+air(0))/293.15) <= 2*r.RateU {
				within++
			}
		}
		t.Logf("%s: covered %.3f", name, within/runs)
		assert.GreaterOrEqual(t, within/runs, 0.93, name)
	}
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
		// With a level more at 4/9 of the time a slope is known √(1-3·20/81) as well, of the
		// same scatter and the thermometer's 800/293/√3 of a tenth.
		heat := 791.3 / 293 * 0.1 / math.Sqrt(3) / 15
		scatter := func(u float64) float64 { return math.Sqrt(u*u - heat*heat) }
		assert.InEpsilon(t, scatter(plain.RateU)/math.Sqrt(1-3*20.0/81), scatter(r.RateU), 0.1)
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
	for i := range s {
		s[i].TempC = math.NaN()
	}
	cold := Measure(s, Options{Resolution: 0.1})
	heat := (cold.Start + 101.325) / 293.15 * 2 / math.Sqrt(3)
	assert.InDelta(t, heat, cold.DropU, 0.02*heat, "of 2 °C in ten minutes that nobody saw")
	assert.InDelta(t, cold.DropU/cold.Minutes, cold.RateU, 1e-9)
	s[0].P += 30 // one wild reading is no loss
	assert.InDelta(t, 15, Measure(s, Options{Resolution: 0.1, TempResolution: 0.1}).Drop, 0.8)
}

// What was lost quickly is known to a fifth of what tells it from the display.
func TestQuickLossIsInDoubt(t *testing.T) {
	var p []analysis.Sample
	for i := range 40 {
		p = append(p, analysis.Sample{T: float64(15 * i), X: 690 - 0.1*float64(i)/4 + math.Max(0, 4-float64(i))})
	}
	r := Result{DropU: 0.03, RateU: 0.003, Minutes: 10, Drop: 1}
	at, x := blockMedians(p, leakPoints)
	r.quickLoss(p, fall{start: 690, perSecond: -0.1 / 60}, at, x, 0.1)
	assert.InDelta(t, 0.05, r.DropU, 1e-9, "0.03 and 0.04")
	assert.InDelta(t, 0.005, r.RateU, 1e-9)
	assert.InDelta(t, 5, r.Drop, 1e-9)
	assert.InDeltaSlice(t, []float64{4, 45}, noted.Figures(r.Notes, analysis.QuickLoss), 1e-9)
}
