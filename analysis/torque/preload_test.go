package torque

import (
	"fmt"
	"math"
	"math/rand"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

// A dragTrace is an invented trace of a bearing being turned.
type dragTrace struct {
	running, breakaway, ripple, noise, step float64
	period, seconds, rate, rest             float64
}

func (d dragTrace) samples(rnd *rand.Rand) []analysis.Sample {
	var s []analysis.Sample
	for t := 0.0; t < d.rest+d.seconds+0.5; t += 1 / d.rate {
		x, m := 0.0, t-d.rest
		switch {
		case m < 0 || m > d.seconds:
		case m < 0.15:
			x = m / 0.15 * math.Max(d.breakaway, d.running)
		default:
			x = d.running + d.ripple*math.Sin(2*math.Pi*m/d.period) + math.Max(0, d.breakaway-d.running)*math.Exp(-(m-0.15)/0.12)
		}
		x += d.noise * rnd.NormFloat64()
		if d.step > 0 {
			x = math.Round(x/d.step) * d.step
		}
		s = append(s, analysis.Sample{T: t, X: x})
	}
	return s
}

func TestPreload(t *testing.T) {
	base := dragTrace{running: 1.42, breakaway: 2.1, ripple: 0.1, noise: 0.02, period: 1.5, seconds: 12, rate: 50, rest: 1}
	for name, change := range map[string]func(*dragTrace){
		"plain":            func(*dragTrace) {},
		"10 Hz":            func(d *dragTrace) { d.rate = 10 },
		"500 Hz":           func(d *dragTrace) { d.rate = 500 },
		"no breakaway":     func(d *dragTrace) { d.breakaway = 0 },
		"large ripple":     func(d *dragTrace) { d.ripple = 0.4 },
		"no ripple":        func(d *dragTrace) { d.ripple = 0 },
		"coarse display":   func(d *dragTrace) { d.step = 0.05 },
		"short":            func(d *dragTrace) { d.seconds = 4 },
		"long":             func(d *dragTrace) { d.seconds = 40 },
		"no rest at start": func(d *dragTrace) { d.rest = 0 },
		"light":            func(d *dragTrace) { d.running, d.breakaway, d.ripple = 0.5, 0.8, 0.05 },
		"heavy":            func(d *dragTrace) { d.running, d.breakaway, d.ripple = 5.5, 7, 0.3 },
		"slow":             func(d *dragTrace) { d.period = 5 },
	} {
		for seed := range 6 {
			t.Run(fmt.Sprintf("%s %d", name, seed), func(t *testing.T) {
				d := base
				change(&d)
				p := MeasurePreload(d.samples(rand.New(rand.NewSource(int64(seed)))), PreloadOptions{})
				require.False(t, p.Refused, p.Notes)
				assert.Empty(t, p.Faults, p.Notes)
				assert.InDelta(t, d.running, p.Running, 0.02+0.1*d.ripple+0.2*d.step)
				assert.InDelta(t, 2*d.ripple, p.PeakToPeak, 0.03+2.5*d.noise+d.step)
				if d.breakaway > 0 && d.ripple < 0.3 {
					assert.InDelta(t, d.breakaway, p.Breakaway, 0.06+0.08*d.breakaway+d.step)
				}
				if d.breakaway == 0 {
					assert.True(t, math.IsNaN(p.Breakaway), p.Breakaway)
				}
				assert.Greater(t, p.StandardUncertainty, 0.0)
				assert.Less(t, p.StandardUncertainty, 0.06)
			})
		}
	}
}

func TestPreloadTrouble(t *testing.T) {
	assert.Equal(t, []analysis.Fault{analysis.TooShort}, MeasurePreload(nil, PreloadOptions{}).Faults)
	var zero, ramp, back []analysis.Sample
	for i := range 500 {
		v := float64(i) / 50
		zero = append(zero, analysis.Sample{T: v, X: 0})
		ramp = append(ramp, analysis.Sample{T: v, X: 1 + 0.4*v})
		back = append(back, analysis.Sample{T: v, X: -(1.5 + 0.01*math.Sin(v))})
	}
	assert.Equal(t, []analysis.Fault{analysis.NotSteady}, MeasurePreload(zero, PreloadOptions{}).Faults)
	assert.Contains(t, MeasurePreload(ramp, PreloadOptions{}).Faults, analysis.NotSteady)
	p := MeasurePreload(back, PreloadOptions{})
	assert.False(t, p.Refused)
	assert.InDelta(t, 1.5, p.Running, 0.02)
	assert.True(t, MeasurePreload([]analysis.Sample{{T: 0, X: math.NaN()}, {T: 1, X: 1}, {T: 0, X: 1}}, PreloadOptions{}).Refused)
}

func TestCleanSamples(t *testing.T) {
	nan := math.NaN()
	s, gaps := cleanSamples([]analysis.Sample{{T: 0, X: 1}, {T: nan, X: 1}, {T: 1, X: nan}, {T: 1, X: 2}, {T: 1, X: 3}, {T: 0.5, X: 4}, {T: 2, X: 5}})
	assert.Equal(t, []analysis.Sample{{T: 0, X: 1}, {T: 1, X: 2}, {T: 2, X: 5}}, s)
	assert.Zero(t, gaps)
	s, _ = cleanSamples([]analysis.Sample{{T: 0, X: -1}, {T: 1, X: 0.5}})
	assert.Equal(t, []analysis.Sample{{T: 0, X: 1}, {T: 1, X: -0.5}}, s)
	for _, c := range []struct {
		every, pause float64
		want         int
	}{{0.02, 0.49, 0}, {0.02, 0.51, 1}, {0.1, 0.9, 0}, {0.1, 1.1, 1}, {1, 3, 0}} {
		at, trace := 0.0, []analysis.Sample{}
		for i := range 9 {
			trace = append(trace, analysis.Sample{T: at, X: 1})
			at += c.every
			if i == 4 {
				at += c.pause - c.every
			}
		}
		_, gaps := cleanSamples(trace)
		assert.Equal(t, c.want, gaps, "%+v", c)
	}
}

func TestLongestMotion(t *testing.T) {
	for _, c := range []struct {
		x        []float64
		from, to int
	}{
		{[]float64{0, 2, 2, 2, 0}, 1, 4}, {[]float64{2, 2, 0, 2, 2}, 0, 5}, {[]float64{2, 2, 0, 0, 0, 2, 2, 2}, 5, 8},
		{[]float64{2, 2, 2, 2, 0, 0, 0, 2, 2, 2}, 0, 4}, {[]float64{0, 0}, 0, 0}, {[]float64{1, 0.99}, 0, 1},
	} {
		from, to := longestMotion(at10Hz(c.x...), 1)
		assert.Equal(t, [2]int{c.from, c.to}, [2]int{from, to}, "%v", c.x)
	}
}

// Five parts of two seconds that differ by a step of the display.
func TestRunningU(t *testing.T) {
	var s []analysis.Sample
	for i := range 101 {
		s = append(s, analysis.Sample{T: float64(i) / 10, X: 1 + 0.1*float64(i/20%2)})
	}
	sd := 0.1 * math.Sqrt(0.3) // of 0 1 0 1 0
	combined := math.Sqrt(sd*sd/5 + 0.01/12)
	assert.InDelta(t, combined*2.0739/2, runningU(s, 0, 1, 0, PreloadOptions{}), 1e-4, "22 degrees of freedom")
	fine := math.Sqrt(sd*sd/5 + 1e-6/12)
	assert.InDelta(t, fine*2.7764/2, runningU(s, 0, 1, 0, PreloadOptions{Resolution: 0.001}), 1e-4, "4 degrees of freedom")
	rest := 0.1 * (1 - 0.14) // of a turn of ten seconds 1.4 were seen
	assert.InDelta(t, math.Hypot(0.04, rest)*1.2/math.Sqrt(3), runningU(s[:15], 0, 1.2, 0, PreloadOptions{Resolution: 1e-6, MPEPercent: 4}), 1e-5)
	still := slices.Clone(s)
	for i := range still {
		still[i].X = 1
	}
	assert.True(t, math.IsNaN(runningU(still, 0, 1, 0, PreloadOptions{})), "nothing is known of the wrench, and no turn is missing")
	// What was seen to go up and down by 0.2, the noise of the display taken off, to its
	// half: less of it from half of a turn of ten seconds on. A pace uneven by a tenth
	// moves the median by as much of it.
	for n, unseen := range map[int]float64{41: 1, 76: 0.5, 101: 0} {
		part := s[:n]
		span := float64(n-1) / 10
		swing := (0.2 - 5*gum.Resolution(0.001)/math.Sqrt(3)) / 2
		fifths := betweenParts(part, span/5)
		budget, err := gum.Combine([]gum.Component{fifths,
			{U: math.Sqrt(1e-6/12 + 0.01*swing*swing/3 + unseen*unseen*swing*swing + 0.01*(1-span/10)*(1-span/10)/3), Sensitivity: 1, DoF: math.Inf(1)}})
		require.NoError(t, err)
		assert.InDelta(t, budget.Stated(), runningU(part, 0, 1, 0.2, PreloadOptions{Resolution: 0.001}), 1e-9, "%d readings", n)
	}
	// About the ripple: of two turns the scatter between tenths counts 3.75 times, of one
	// six, of five 3.12.
	for turns, times := range map[float64]float64{1: 6, 2: 3.75, 5: 3.12} {
		length := 10 / turns
		fit, err := ripple(s, length)
		require.NoError(t, err)
		left := slices.Clone(s)
		for i, r := range fit.Residuals {
			left[i].X = r
		}
		c := betweenParts(left, length/10)
		budget, err := gum.Combine([]gum.Component{{U: times * c.U, Sensitivity: 1, DoF: c.DoF}, {U: gum.Resolution(0.001), Sensitivity: 1, DoF: math.Inf(1)}})
		require.NoError(t, err)
		assert.InDelta(t, budget.Stated(), runningU(s, length, 1, 0, PreloadOptions{Resolution: 0.001}), 1e-9, "%g turns", turns)
	}
}

func TestPreloadLength(t *testing.T) {
	for seconds, refused := range map[float64]bool{0.9: true, 1.4: false} {
		d := dragTrace{running: 1.5, noise: 0.01, period: 10, seconds: seconds, rate: 100, rest: 1}
		p := MeasurePreload(d.samples(rand.New(rand.NewSource(1))), PreloadOptions{})
		assert.Equal(t, refused, p.Refused, "%g s: %v", seconds, p.Notes)
		assert.Equal(t, refused, slices.Contains(p.Faults, analysis.TooShort), "%g s: %v", seconds, p.Faults)
	}
	d := dragTrace{running: 1.5, noise: 0.01, period: 2, seconds: 10, rate: 50, rest: 1}
	s := d.samples(rand.New(rand.NewSource(1)))
	cut := append(append([]analysis.Sample(nil), s[:200]...), s[240:]...)
	p := MeasurePreload(cut, PreloadOptions{})
	assert.Equal(t, []analysis.Fault{analysis.Gaps}, p.Faults)
	assert.Contains(t, p.Notes, analysis.ReadingGaps.Of(1))
	assert.Contains(t, p.Notes, analysis.NoBreakaway.Of())
	turning := slices.Repeat([]float64{1, 1.1}, 30)
	_, end := steadyOf(at10Hz(append(turning, 0.5, 0.2)...))
	assert.Equal(t, 60, end, "the fall is cut off")
	start, _ := steadyOf(at10Hz(append([]float64{0.3, 0.8}, turning...)...))
	assert.Equal(t, 5, start, "the rise and a quarter of a second")
	start, _ = steadyOf(at10Hz(append([]float64{0.3, 1.6, 1.3}, turning...)...))
	assert.Equal(t, 6, start, "the breakaway and a quarter of a second")
	start, _ = steadyOf(at10Hz(append([]float64{0.3, 1.6}, turning[:10]...)...))
	assert.Equal(t, 4, start, "of 1.1 s a tenth")
	// A torque that only wanders down is no ripple, whatever turn it would be.
	rnd, wander := rand.New(rand.NewSource(1)), []analysis.Sample{}
	for i := range 400 {
		wander = append(wander, analysis.Sample{T: float64(i) / 20, X: 1.5 - 0.02*float64(i)/20 + 0.01*rnd.NormFloat64()})
	}
	_, period := wholeTurns(wander)
	assert.Zero(t, period)
}

func TestPreloadTurns(t *testing.T) {
	d := dragTrace{running: 1.5, breakaway: 2, ripple: 0.2, noise: 0.01, period: 2, seconds: 9.2, rate: 50, rest: 1}
	steady := d.samples(rand.New(rand.NewSource(1)))[100:480]
	whole, period := wholeTurns(steady)
	assert.InDelta(t, 2, period, 0.02)
	assert.InDelta(t, 6, analysis.Span(whole), 0.05, "whole turns of 7.58 s")
	assert.Equal(t, steady[len(steady)-1], whole[len(whole)-1], "the last ones")
	d.ripple = 0
	steady = d.samples(rand.New(rand.NewSource(1)))[100:480]
	whole, period = wholeTurns(steady)
	assert.Zero(t, period)
	assert.Len(t, whole, 380)
	p := MeasurePreload(d.samples(rand.New(rand.NewSource(1))), PreloadOptions{})
	assert.Contains(t, p.Notes, analysis.NoRipple.Of())
}

// Readings that alternate by 0.1 have differences of a robust deviation of 0.148,
// so the noise is 0.105: a peak shows beyond 1.1 + 0.21.
func TestBreakawayStandsOut(t *testing.T) {
	steady := at10Hz(append(slices.Repeat([]float64{1, 1.1}, 30), 1)...)
	p := Preload{Breakaway: math.NaN(), Running: 1}
	p.breakaway(at10Hz(0, 1.3, 1.2), steady)
	assert.True(t, math.IsNaN(p.Breakaway))
	assert.Len(t, p.Notes, 1)
	p.breakaway(at10Hz(0, 1.32, 1.2), steady)
	assert.Equal(t, 1.32, p.Breakaway)
	heavy := Preload{Breakaway: math.NaN(), Running: 20}
	heavy.breakaway(at10Hz(1.4), steady)
	assert.True(t, math.IsNaN(heavy.Breakaway), "a fiftieth of the running torque at least")
}

func TestTrendOfPreload(t *testing.T) {
	for late, want := range map[float64]int{1.05: 0, 1.09: 0, 1.12: 1, 0.88: 1} {
		p := Preload{Running: 1, PeakToPeak: 0.2}
		p.trend(at10Hz(append(slices.Repeat([]float64{1}, 10), slices.Repeat([]float64{late}, 10)...)...))
		assert.Len(t, p.Faults, want, late)
	}
	p := Preload{Running: 1, PeakToPeak: 1}
	p.trend(at10Hz(1, 1, 1, 1.3, 1.3, 1.3))
	assert.Empty(t, p.Faults, "a third of the ripple is the ripple's")
}

func TestCarrierFromTotal(t *testing.T) {
	// Source: trade arithmetic, (0.4 to 0.6)·4 = 1.6 to 2.4 N·m (computed).
	assert.InDelta(t, 1.6, CarrierFromTotal(1.9, 1.5, 11, 44), 1e-12)
	assert.InDelta(t, 4, CarrierFromTotal(2, 1, 1, 4), 1e-12)
	assert.InDelta(t, 0.25, CarrierFromTotal(2, 1, 4, 1), 1e-12)
	assert.True(t, math.IsNaN(CarrierFromTotal(2, 1, 0, 41)))
	assert.True(t, math.IsNaN(CarrierFromTotal(2, 1, 41, 0)))
}
