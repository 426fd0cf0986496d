package simbench

import (
	"math"
	"math/rand/v2"
	"strconv"
)

// The gauges in the order of Bench.instruments.
const (
	indicator = iota
	wrench
	preload
	pressure
	thermometer
)

var labels = []string{"indicator", "wrench", "preload", "pressure", "thermometer"}

// Lines a second of the gauges that Config does not set.
const (
	wrenchRate  = 50.0
	preloadRate = 20.0
	airRate     = 1.0 // of pressure and temperature
)

// A gauge turns what the hands do into a line of text at second t.
type gauge interface {
	line(t float64) string
	step() float64 // what it resolves, in its unit
}

// A dial is the indicator.
type dial struct {
	rand              *rand.Rand
	hands             *hands
	resolution, noise float64 // mm
	bare              bool    // without a unit word
	zero              float64 // mm, what the zero button took away
}

func newDial(c Config, h *hands) *dial {
	return &dial{rand: newRand(c.Seed, dialStream), hands: h, resolution: c.Resolution, noise: c.Noise, bare: c.BareNumbers}
}

func (d *dial) step() float64 { return d.resolution }

func (d *dial) line(t float64) string {
	x := d.hands.shown(t) + d.noise*d.rand.NormFloat64()
	if d.hands.zeroPressed {
		d.hands.zeroPressed, d.zero = false, x
	}
	x -= d.zero
	step, unit := d.resolution, "mm"
	if d.hands.inch {
		x, step, unit = x/25.4, d.resolution/20, "in"
	}
	line := text(x, step, true)
	if !d.bare {
		line += " " + unit
	}
	if d.hands.garble > 0 {
		d.hands.garble--
		return line[:2] + "\xff" + "#" + line[3:5]
	}
	return line
}

// A meter is a gauge with noise and a resolution that shows one quantity.
type meter struct {
	rand              *rand.Rand
	value             func(t float64) float64
	resolution, noise float64
	unit              string
}

func (m *meter) step() float64 { return m.resolution }

func (m *meter) line(t float64) string {
	return text(m.value(t)+m.noise*m.rand.NormFloat64(), m.resolution, false) + " " + m.unit
}

func newTorqueWrench(seed int64, h *hands) *meter {
	return &meter{rand: newRand(seed, wrenchStream), resolution: 0.1, noise: 0.05, unit: "N.m",
		value: func(t float64) float64 { return whileMoving(h.now.bolt, t-h.now.start) }}
}

func newPreloadMeter(seed int64, h *hands) *meter {
	return &meter{rand: newRand(seed, preloadStream), resolution: 0.01, noise: 0.01, unit: "N.m",
		value: func(t float64) float64 { return whileMoving(h.now.pinion, t-h.now.start) }}
}

func newManometer(seed int64, h *hands) *meter {
	return &meter{rand: newRand(seed, pressureStream), resolution: 0.1, noise: 0.1, unit: "kPa",
		value: func(t float64) float64 { return h.air.at(t) }}
}

func newThermometer(seed int64, h *hands) *meter {
	return &meter{rand: newRand(seed, temperatureStream), resolution: 0.01, noise: 0.01, unit: "degC",
		value: func(t float64) float64 { return h.air.celsius(t) }}
}

func whileMoving(f func(float64) float64, t float64) float64 {
	if f == nil {
		return 0
	}
	return f(t)
}

// text writes x in steps of resolution with the decimals that takes.
func text(x, resolution float64, plus bool) string {
	x = math.Round(x/resolution) * resolution
	decimals := max(0, int(math.Ceil(-math.Log10(resolution)-1e-9)))
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if math.Signbit(x) && x > -resolution/2 {
		s = s[1:]
	}
	if plus && s[0] != '-' {
		s = "+" + s
	}
	return s
}
