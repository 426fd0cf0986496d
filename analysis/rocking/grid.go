package rocking

import "math"

// A grid finds the last digit of a gauge from its readings: the largest step
// of which every difference between neighbouring readings is a whole multiple,
// by Euclid's algorithm with a tolerance for decimal digits held in binary.
// It needs no unit, so an inch gauge read in mm is found as well.
type grid struct {
	step float64 // 0: no two readings differed yet, or no step exists
	last float64 // the last difference looked at
	none bool    // the readings lie on no grid
}

const (
	gridFuzz  = 1e-4 // of a step: binary rounding and text of few digits
	gridFloor = 1e-7 // of the largest difference: below this there is no grid
)

// add takes the difference of two neighbouring readings.
func (g *grid) add(d float64) {
	if d < 0 {
		d = -d
	}
	if d == g.last || d == 0 || g.none {
		return
	}
	g.last = d
	if g.step == 0 {
		g.step = d
		return
	}
	k := math.Floor(d/g.step + 0.5)
	if math.Abs(d-k*g.step) <= gridFuzz*g.step*(1+k) && k > 0 {
		return
	}
	g.shrink(d)
}

// shrink replaces the step by the greatest common divisor of it and d.
func (g *grid) shrink(d float64) {
	a, b := math.Max(d, g.step), math.Min(d, g.step)
	floor := a * gridFloor
	for i := 0; i < 64 && b > floor; i++ {
		q := math.Floor(a/b + 0.5)
		r := math.Abs(a - q*b)
		if r <= gridFuzz*b*(1+q) {
			g.step = b
			return
		}
		a, b = b, r
	}
	g.step, g.none = 0, true
}
