// Package digit tells what the last digit of a gauge does to its readings: what
// rounding adds to them, what noise averages away of it again, and which digit it is.
package digit

import "math"

// Bias2 returns the mean square of what averaging does not remove from
// readings rounded to the count q when Gaussian noise of deviation sigma moves
// them, over all places of the true value between two counts:
//
//	Σ q²/(2π²k²) · exp(-4π²k²σ²/q²),  k = 1, 2, ...
//
// It is q²/12 for a still gauge and gone at half a count of noise.
// Source: Fourier series of the rounding error, as in Widrow and Kollár,
// "Quantization Noise", ch. 5.
func Bias2(sigma, q float64) float64 {
	if q <= 0 {
		return 0
	}
	if sigma < 0.01*q { // within 7 % of it, and the sum would take long
		return Rounded(q)
	}
	var sum float64
	for k := 1.0; ; k++ {
		e := 2 * math.Pi * k / q
		term := 2 / (e * e) * math.Exp(-e*e*sigma*sigma)
		if sum += term; term <= 1e-5*sum { // what is left is a few hundred such terms at most
			return sum
		}
	}
}

// Rounded is the variance of rounding to the count q.
func Rounded(q float64) float64 { return q * q / 12 }

// halvings find a deviation to a ten-millionth of where it may lie.
const halvings = 24

// Undither returns the deviation of the noise before rounding to the count q
// that leaves rounded readings with the variance v, on the mean over all
// places between two counts: v = σ² + q²/12 - Bias2(σ, q), by bisection.
func Undither(v, q float64) float64 {
	if q <= 0 {
		return math.Sqrt(v)
	}
	var lo float64
	hi := math.Sqrt(v) + q
	for range halvings {
		m := (lo + hi) / 2
		if m*m+Rounded(q)-Bias2(m, q) < v {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// AllOnOne returns the probability that n values of the deviation sigma
// about the middle of a count q all show that count; 1 for an unknown sigma.
func AllOnOne(sigma, q float64, n int) float64 {
	if sigma == 0 {
		return 1
	}
	return math.Pow(math.Erf(q/(2*math.Sqrt2*sigma)), float64(n))
}

// A Grid finds the last digit of a gauge from its readings: the largest step
// of which every difference between neighbouring readings is a whole multiple,
// by Euclid's algorithm with a tolerance for decimal digits held in binary.
// It needs no unit, so an inch gauge read in mm is found as well.
type Grid struct {
	Step float64 // 0: no two readings differed yet, or no step exists
	last float64 // the last difference looked at
	none bool    // the readings lie on no grid
}

const (
	gridFuzz  = 1e-4 // of a step: binary rounding and text of few digits
	gridFloor = 1e-7 // of the largest difference: below this there is no grid
	// The remainder at least halves with each division, so that fewer than these reach
	// the floor; more would be rounding without end.
	mostDivisions = 64
)

// Add takes the difference of two neighbouring readings.
func (g *Grid) Add(d float64) {
	if d < 0 {
		d = -d
	}
	if d == g.last || d == 0 || g.none {
		return
	}
	g.last = d
	if g.Step == 0 {
		g.Step = d
		return
	}
	k := math.Floor(d/g.Step + 0.5)
	if math.Abs(d-k*g.Step) <= gridFuzz*g.Step*(1+k) && k > 0 {
		return
	}
	g.shrink(d)
}

// shrink replaces the step by the greatest common divisor of it and d.
func (g *Grid) shrink(d float64) {
	a, b := math.Max(d, g.Step), math.Min(d, g.Step)
	floor := a * gridFloor
	for i := 0; i < mostDivisions && b > floor; i++ {
		q := math.Floor(a/b + 0.5)
		r := math.Abs(a - q*b)
		if r <= gridFuzz*b*(1+q) {
			g.Step = b
			return
		}
		a, b = b, r
	}
	g.Step, g.none = 0, true
}
