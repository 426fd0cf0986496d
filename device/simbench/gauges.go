package simbench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
)

// A liner returns what a gauge that shows so fine steps sends at second t.
type liner func(t, step float64) string

// dialNoise is the standard deviation of one reading in mm: of a digital
// indicator of 1 µm on a stand, touched by hand.
const dialNoise = 0.0015

// dial returns the indicator.
func dial(r *rand.Rand, h *hands) liner {
	zero := 0.0 // mm, what the zero button took away
	return func(t, step float64) string {
		x := h.shown(t) + dialNoise*r.NormFloat64()
		if h.zeroPressed {
			h.zeroPressed, zero = false, x
		}
		x -= zero
		line := text(x, step, true) + " mm"
		if h.inch {
			line = text(x/25.4, step/20, true) + " in"
		}
		if h.garble > 0 {
			h.garble--
			return line[:2] + "\xff" + "#" + line[3:5]
		}
		return line
	}
}

// meter returns a gauge with noise that shows one quantity.
func meter(r *rand.Rand, value func(t float64) float64, noise float64, unit string) liner {
	return func(t, step float64) string { return text(value(t)+noise*r.NormFloat64(), step, false) + " " + unit }
}

// load is the torque in N·m at second t, of a tool that the movement under way loads
// so, or not at all.
func (h *hands) load(tool func(t float64) float64, t float64) float64 {
	if tool == nil {
		return 0
	}
	return tool(t - h.now.start)
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
