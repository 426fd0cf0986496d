package simbench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
)

// A liner returns what a gauge that shows so fine steps sends at second t.
type liner func(t, step float64) string

// A dial is the indicator.
type dial struct {
	rand  *rand.Rand
	hands *hands
	zero  float64 // mm, what the zero button took away
}

// dialNoise is the standard deviation of one reading in mm: of a digital
// indicator of 1 µm on a stand, touched by hand.
const dialNoise = 0.0015

func (d *dial) line(t, step float64) string {
	x := d.hands.shown(t) + dialNoise*d.rand.NormFloat64()
	if d.hands.zeroPressed {
		d.hands.zeroPressed, d.zero = false, x
	}
	x -= d.zero
	line := text(x, step, true) + " mm"
	if d.hands.inch {
		line = text(x/25.4, step/20, true) + " in"
	}
	if d.hands.garble > 0 {
		d.hands.garble--
		return line[:2] + "\xff" + "#" + line[3:5]
	}
	return line
}

// meter returns a gauge with noise that shows one quantity.
func meter(r *rand.Rand, value func(t float64) float64, noise float64, unit string) liner {
	return func(t, step float64) string { return text(value(t)+noise*r.NormFloat64(), step, false) + " " + unit }
}

// atWrench is the torque in N·m that the wrench feels at second t.
func (h *hands) atWrench(t float64) float64 { return whileMoving(h.now.bolt, t-h.now.start) }

// atPinion is the torque in N·m that turns the pinion at second t.
func (h *hands) atPinion(t float64) float64 { return whileMoving(h.now.pinion, t-h.now.start) }

func whileMoving(f func(float64) float64, t float64) float64 {
	if f == nil {
		return 0
	}
	return f(t)
}

// text writes x in steps of resolution with the decimals that takes.
func text(x, resolution float64, plus bool) string {
	x = math.Round(x/resolution)*resolution + 0 // of minus zero it makes zero
	decimals := max(0, int(math.Ceil(-math.Log10(resolution)-1e-9)))
	if plus {
		return fmt.Sprintf("%+.*f", decimals, x)
	}
	return strconv.FormatFloat(x, 'f', decimals, 64)
}
