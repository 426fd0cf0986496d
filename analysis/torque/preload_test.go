package torque

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"crownlog/analysis"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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

func TestCarrierFromTotal(t *testing.T) {
	// Source: trade arithmetic, (0.4 to 0.6)·4 = 1.6 to 2.4 N·m (computed).
	assert.InDelta(t, 1.6, CarrierFromTotal(1.9, 1.5, 11, 44), 1e-12)
	assert.True(t, math.IsNaN(CarrierFromTotal(2, 1, 0, 41)))
}
