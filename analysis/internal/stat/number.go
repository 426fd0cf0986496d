package stat

import "math"

// Wrap returns v brought into [0, period).
func Wrap(v, period float64) float64 {
	v = math.Mod(v, period)
	if v < 0 {
		v += period
	}
	if v >= period {
		v = 0
	}
	return v
}

// Finite reports whether v is neither NaN nor infinite.
func Finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// largest is beyond anything a gauge can show, in any unit used here.
const largest = 1e9

// Sensible reports whether v is a number a gauge could have sent.
func Sensible(v float64) bool { return math.Abs(v) < largest }

// Square returns v², 0 for a v that is not a number.
func Square(v float64) float64 {
	if !Finite(v) {
		return 0
	}
	return v * v
}
