package leak

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/noted"
	"crownlog/analysis/internal/stat"
)

// A decay is an invented leak test with a known answer.
type decay struct {
	start, rate, tau         float64 // kPa gauge, kPa/min, minutes
	minutes, interval        float64
	noise, step              float64
	celsius, warming, wander float64 // NaN celsius: no thermometer
}

func (d decay) samples(rnd *rand.Rand) []Sample {
	var s []Sample
	for t := 0.0; t <= 60*d.minutes; t += d.interval {
		p := d.start - d.rate*t/60
		if d.tau > 0 {
			p = d.start * math.Exp(-t/60/d.tau)
		}
		temp := d.celsius
		if stat.Finite(temp) {
			temp += d.warming*t/60/d.minutes + d.wander*math.Sin(2*math.Pi*t/60/d.minutes)
			p = (p+101.325)*(temp+zeroC)/(d.celsius+zeroC) - 101.325
		}
		p += d.noise * rnd.NormFloat64()
		if d.step > 0 {
			p = math.Round(p/d.step) * d.step
		}
		s = append(s, Sample{t, p, temp})
	}
	return s
}

func TestLeakDown(t *testing.T) {
	nan := math.NaN()
	for name, d := range map[string]decay{
		"plain":             {start: 700, rate: 0.31, minutes: 15, interval: 1, noise: 0.05, step: 0.1, celsius: nan},
		"coarse display":    {start: 700, rate: 1.2, minutes: 15, interval: 1, noise: 0.3, step: 1, celsius: nan},
		"still display":     {start: 700, rate: 0.31, minutes: 15, interval: 1, step: 0.1, celsius: nan},
		"fast":              {start: 700, rate: 0.31, minutes: 15, interval: 0.05, noise: 0.2, step: 0.1, celsius: nan},
		"short":             {start: 35, rate: 2, minutes: 0.5, interval: 0.5, noise: 0.02, step: 0.01, celsius: nan},
		"cooling":           {start: 700, rate: 0.31, minutes: 15, interval: 1, noise: 0.05, step: 0.1, celsius: 22, warming: -1.5},
		"warming hides it":  {start: 700, rate: 0.18, minutes: 15, interval: 1, noise: 0.05, step: 0.1, celsius: 20, warming: 1},
		"wandering":         {start: 700, rate: 0.31, minutes: 15, interval: 1, noise: 0.05, step: 0.1, celsius: 20, wander: 0.8},
		"no leak":           {start: 700, rate: 0, minutes: 15, interval: 1, noise: 0.05, step: 0.1, celsius: nan},
		"low pressure type": {start: 30, rate: 0.05, minutes: 10, interval: 2, noise: 0.01, step: 0.01, celsius: nan},
	} {
		t.Run(name, func(t *testing.T) {
			covered := 0
			for seed := range 24 {
				r := Measure(d.samples(rand.New(rand.NewSource(int64(seed)))), Options{})
				require.False(t, r.Refused, r.Notes)
				assert.Empty(t, r.Faults)
				assert.InDelta(t, d.rate, r.RatePerMin, math.Max(0.03*d.rate, 0.02))
				assert.InDelta(t, d.rate*d.minutes, r.Drop, math.Max(0.05*d.rate*d.minutes, 0.25))
				assert.Greater(t, r.RateU, 0.0)
				if math.Abs(r.RatePerMin-d.rate) <= 2*r.RateU {
					covered++
				}
				assert.Equal(t, stat.Finite(d.celsius), r.Compensated)
			}
			assert.GreaterOrEqual(t, covered, 20, "of 24 within 2u")
		})
	}
}

func TestLeakDownExponential(t *testing.T) {
	d := decay{start: 20, tau: 10, minutes: 5, interval: 1, noise: 0.005, celsius: math.NaN()}
	r := Measure(d.samples(rand.New(rand.NewSource(1))), Options{})
	require.False(t, r.Refused)
	assert.InDelta(t, 10, r.TauMin, 0.02)
	assert.InDelta(t, 20-12.130613194, r.Drop, 0.01)
	assert.InDelta(t, (20-12.130613194)/5, r.RatePerMin, 0.05)
}

func TestLeakDownTrouble(t *testing.T) {
	nan := math.NaN()
	for name, s := range map[string][]Sample{
		"none": nil, "two": {{0, 700, nan}, {1, 700, nan}}, "same time": {{0, 700, nan}, {0, 700, nan}, {0, 699, nan}},
		"not numbers": {{0, nan, nan}, {1, math.Inf(1), nan}, {2, 1, nan}},
	} {
		r := Measure(s, Options{})
		assert.True(t, r.Refused, name)
		assert.Equal(t, []analysis.Fault{analysis.TooShort}, r.Faults, name)
		assert.True(t, math.IsNaN(r.RatePerMin), name)
	}
	var flat []Sample
	for i := range 100 {
		flat = append(flat, Sample{float64(i), 0.01 * float64(i%2), nan})
	}
	assert.Equal(t, []analysis.Fault{analysis.NotPressurised}, Measure(flat, Options{}).Faults)
	t.Run("wild readings and a part without temperature", func(t *testing.T) {
		s := decay{start: 700, rate: 0.4, minutes: 15, interval: 1, noise: 0.05, step: 0.1, celsius: 20, warming: 1}.samples(rand.New(rand.NewSource(2)))
		for i := 50; i < len(s); i += 97 {
			s[i].P = 0
		}
		for i := range s {
			if i%7 != 0 {
				s[i].TempC = nan
			}
		}
		r := Measure(s, Options{})
		assert.InDelta(t, 0.4, r.RatePerMin, 0.02)
	})
	t.Run("a gap is named", func(t *testing.T) {
		s := decay{start: 700, rate: 0.4, minutes: 15, interval: 1, celsius: nan}.samples(rand.New(rand.NewSource(2)))
		r := Measure(append(s[:100:100], s[300:]...), Options{})
		assert.Equal(t, []analysis.Fault{analysis.Gaps}, r.Faults)
		assert.InDelta(t, 0.4, r.RatePerMin, 1e-6)
	})
}

// A gauge on hold shows no leak whatever the line does.
func TestLeakDownFrozen(t *testing.T) {
	held := decay{start: 700, minutes: 10, interval: 5, celsius: math.NaN()}.samples(rand.New(rand.NewSource(1)))
	r := Measure(held, Options{Resolution: 0.1})
	assert.True(t, r.Refused)
	assert.Equal(t, []analysis.Fault{analysis.Frozen}, r.Faults)
	assert.True(t, Measure(held, Options{Followed: true}).Refused, "nothing says what its digits can hide")
	r = Measure(held, Options{Followed: true, Resolution: 100})
	require.False(t, r.Refused)
	assert.InDelta(t, 100/math.Sqrt(3)/10, r.RateU, 0.01)
	assert.Equal(t, gum.TooClose, gum.Judge(r.RatePerMin, r.RateU, gum.Limits{Lower: math.NaN(), Upper: 0.5, Unit: "kPa/min"}).Verdict)
}

// A thermometer hides half a step at either end: here 0.4 °C of warming that it
// does not show, 1.1 kPa of 800 kPa.
func TestLeakDownCoarseThermometer(t *testing.T) {
	covered, least := 0, math.Inf(1)
	for seed := range 40 {
		rnd := rand.New(rand.NewSource(int64(seed)))
		s := decay{start: 700, rate: 0.15, minutes: 15, interval: 5, noise: 0.02, step: 0.01, celsius: 20 + rnd.Float64(), warming: 0.4}.samples(rnd)
		for i := range s {
			s[i].TempC = math.Round(s[i].TempC/0.5) * 0.5
		}
		r := Measure(s, Options{TempResolution: 0.5})
		if math.Abs(r.RatePerMin-0.15) <= 2*r.RateU {
			covered++
		}
		least = math.Min(least, r.RateU)
	}
	assert.GreaterOrEqual(t, covered, 38, "of 40 within 2u")
	assert.GreaterOrEqual(t, least, math.Sqrt2*801/294.2*0.5/math.Sqrt(12)/15)
	still := decay{start: 700, rate: 0.15, minutes: 15, interval: 5, noise: 0.02, step: 0.01, celsius: 20}.samples(rand.New(rand.NewSource(1)))
	r := Measure(still, Options{})
	assert.Greater(t, r.RateU, 0.07, "20 °C throughout may be anything from 19.5 to 20.5")
	assert.Contains(t, r.Notes, analysis.TemperatureHeld.Of(1))
}

func ExampleMeasure() {
	var s []Sample
	for i := range 601 {
		t := float64(i)
		s = append(s, Sample{T: t, P: 700 - 0.3*t/60, TempC: math.NaN()})
	}
	r := Measure(s, Options{Resolution: 0.1})
	fmt.Printf("%.2f kPa/min, %.1f kPa in %.0f min\n", r.RatePerMin, r.Drop, r.Minutes)
	// Output: 0.30 kPa/min, 3.0 kPa in 10 min
}

func TestCleanLeak(t *testing.T) {
	nan := math.NaN()
	s, gaps := analysis.InOrder([]Sample{{0, 5, nan}, {nan, 5, 1}, {1, nan, 1}, {1, 4, nan}, {1, 3, nan}, {0.5, 3, nan}, {2, 3, nan}, {3, 2, nan}, {13.1, 2, nan}, {14, 1, nan}, {24, 1, nan}}, Sample.reading, 0)
	assert.Len(t, s, 7)
	assert.Equal(t, 1, gaps, "ten times the usual second is none yet")
}

// A whole degree from end to end that a thermometer hides, and what it lagged by:
// worked by hand.
func TestThermometerStep(t *testing.T) {
	r := Result{Compensated: true, Start: 700, Minutes: 10, DropU: 0.3, RateU: 0.03}
	r.addThermometer([]Sample{{0, 700, 20}, {1, 700, math.NaN()}, {2, 700, 20}}, Options{AmbientKPa: 100})
	u := math.Hypot(0.3, 800/293.15/math.Sqrt(3))
	assert.InDelta(t, u, r.DropU, 1e-12)
	assert.InDelta(t, u/10, r.RateU, 1e-12)
	assert.Contains(t, r.Notes, analysis.TemperatureHeld.Of(1))

	// Up and down by a tenth once: of 13 differences the deviation is 0.408 of it, of 12
	// 0.426, which is more than √2·0.3: then the digits dither.
	flicker := func(n int) float64 {
		var s []Sample
		for i := range n {
			s = append(s, Sample{float64(i), 700, 20})
		}
		s[n/2].TempC = 20.1
		r := Result{Compensated: true, Start: 700, Minutes: 10}
		r.addThermometer(s, Options{AmbientKPa: 100, TempResolution: 0.1})
		return r.DropU
	}
	assert.InDelta(t, 0.1*800/293.15/math.Sqrt(3), flicker(14), 1e-12)
	assert.Zero(t, flicker(13))

	// Nine seconds in which it rises by 0, 0.2 and 0.5 °C a second by thirds: it comes
	// after the air by 60·0.5 °C more at the end, as a rectangle, beside its step.
	var bent []Sample
	for i, c := range []float64{20, 20, 20, 20.2, 20.4, 20.6, 21, 21.5, 22} {
		bent = append(bent, Sample{float64(i), 700, c})
	}
	r = Result{Compensated: true, Start: 700, Minutes: 10}
	r.addThermometer(bent, Options{AmbientKPa: 100, TempResolution: 1})
	assert.InDelta(t, 800/293.15*math.Hypot(60*0.5, 1)/math.Sqrt(3), r.DropU, 1e-9)
	assert.InDelta(t, r.DropU/10, r.RateU, 1e-12)
}

func TestTemperatures(t *testing.T) {
	nan := math.NaN()
	at := func(c ...float64) (s []Sample) {
		for i, v := range c {
			s = append(s, Sample{float64(10 + 2*i), 1, v})
		}
		return s
	}
	temps, read := temperatures(at(nan, nan, 20, nan, nan, nan, 24, nan))
	assert.Equal(t, []float64{20, 24}, read)
	assert.Equal(t, []float64{20, 20, 20, 21, 22, 23, 24, 24}, temps)
	_, read = temperatures(at(nan, -273.15, 1e10))
	assert.Empty(t, read, "colder than cold is no temperature")
	temps, _ = temperatures(at(20, nan, 24))
	assert.Equal(t, []float64{20, 22, 24}, temps, "between the first and the next")
	temps, _ = temperatures(at(-273.1, 5))
	assert.Equal(t, []float64{-273.1, 5}, temps)
	for held, step := range map[float64]float64{20.25: 0.01, 20: 1} {
		r := Result{Compensated: true, Minutes: 10}
		r.addThermometer(at(held, held, held), Options{})
		assert.Contains(t, r.Notes, analysis.TemperatureHeld.Of(step))
	}
}

func TestLeakRemarks(t *testing.T) {
	nan := math.NaN()
	line := func(rate, minutes, warming float64) Result {
		d := decay{start: 700, rate: rate, minutes: minutes, interval: 1, noise: 0.05, step: 0.1, celsius: nan}
		if warming != 0 {
			d.celsius, d.warming = 20, warming
		}
		return Measure(d.samples(rand.New(rand.NewSource(4))), Options{})
	}
	figures := func(r Result, kind analysis.NoteCode) []float64 { return noted.Figures(r.Notes, kind) }
	assert.InDeltaSlice(t, []float64{30}, figures(line(2, 0.5, 0), analysis.ShortTest), 0.5)
	assert.Nil(t, figures(line(2, 1.5, 0), analysis.ShortTest))
	assert.NotNil(t, figures(line(0, 15, 0), analysis.NoLeakSeen))
	assert.Nil(t, figures(line(0.9, 15, 0), analysis.NoLeakSeen))
	assert.InDeltaSlice(t, []float64{2.73}, figures(line(0.3, 15, 0), analysis.NoTemperature), 1e-9)
	warm := line(0.3, 15, 1)
	assert.Equal(t, []float64{warm.WarmingC, warm.RawPerMin}, figures(warm, analysis.Warmed))
	assert.InDelta(t, 1, warm.WarmingC, 0.08)
	assert.InDelta(t, 0.3-801.3/293.15/15, warm.RawPerMin, 0.02)
	assert.Nil(t, figures(line(3, 15, 0.05), analysis.Warmed), "a sixtieth of the rate")
	// A quick fall that ends: neither a line nor an exponential to zero.
	var settling []Sample
	for i := range 600 {
		settling = append(settling, Sample{float64(i), 690 + 10*math.Exp(-float64(i)/40), nan})
	}
	r := Measure(settling, Options{Resolution: 0.01})
	assert.NotNil(t, figures(r, analysis.StillSettling), r.Notes)
	for _, steady := range []float64{0.3, 3} {
		assert.Nil(t, figures(line(steady, 15, 0), analysis.StillSettling), steady)
	}
}

func TestExpFit(t *testing.T) {
	var at, x []float64
	for i := range 50 {
		at, x = append(at, float64(i)), append(x, 8*math.Exp(-float64(i)/30))
	}
	f, ok := exponential(at, x)
	assert.True(t, ok)
	assert.InDelta(t, 30, f.tau, 1e-9)
	assert.InDelta(t, 8, f.start, 1e-9)
	rising := append([]float64(nil), x...)
	for i := range rising {
		rising[i] = x[len(x)-1-i]
	}
	_, ok = exponential(at, rising)
	assert.False(t, ok)
	x[20] = 0
	_, ok = exponential(at, x)
	assert.False(t, ok, "not above zero")
	// A pressure that all but stands still and one that is gone at once: the steps of
	// the fit run off and say so.
	_, ok = exponential([]float64{0, 1, 2, 3}, []float64{5, 5, 5, 1e-9})
	assert.False(t, ok)
	same := make([]float64, len(at))
	for i := range same {
		same[i] = 3
	}
	_, ok = exponential(at, same)
	assert.False(t, ok, "does not fall")
}

// The uncertainty of an exponential fall covers what it claims to.
func TestLeakExponentialCovers(t *testing.T) {
	covered := 0
	for seed := range 40 {
		d := decay{start: 20, tau: 10, minutes: 5, interval: 1, noise: 0.02, step: 0.01, celsius: 20, wander: 1e-5}
		r := Measure(d.samples(rand.New(rand.NewSource(int64(seed)))), Options{})
		assert.False(t, math.IsNaN(r.TauMin))
		truth := 20 * (1 - math.Exp(-0.5))
		if math.Abs(r.Drop-truth) <= 2*r.DropU {
			covered++
		}
		assert.InDelta(t, r.RateU*5, r.DropU, 1e-9)
		assert.InDelta(t, 0.02*math.Sqrt(12)/math.Sqrt(300), r.DropU, 0.005, "that of the scatter about the bend, 300 readings")
		assert.InDelta(t, r.Drop/5, r.RatePerMin, 1e-9)
	}
	assert.GreaterOrEqual(t, covered, 34)
}

// Eight points tell a bend from a line, seven do not.
func TestBendNeedsEightPoints(t *testing.T) {
	for n, want := range map[int]bool{7: false, 8: true} {
		var s []Sample
		for i := range n {
			s = append(s, Sample{float64(60 * i), 100 * math.Exp(-float64(i)/5), math.NaN()})
		}
		assert.Equal(t, want, !math.IsNaN(Measure(s, Options{Resolution: 0.01}).TauMin), n)
	}
}
