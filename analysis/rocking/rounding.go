package rocking

import "math"

// bias2 returns the mean square of what averaging does not remove from
// readings rounded to the count q when Gaussian noise of deviation sigma moves
// them, over all places of the true value between two counts:
//
//	Σ q²/(2π²k²) · exp(-4π²k²σ²/q²),  k = 1, 2, ...
//
// It is q²/12 for a still gauge and gone at half a count of noise.
// Source: Fourier series of the rounding error, as in Widrow and Kollár,
// "Quantization Noise", ch. 5.
func bias2(sigma, q float64) float64 {
	if q <= 0 {
		return 0
	}
	if sigma < 0.01*q {
		return rounded(q)
	}
	sum := 0.0
	for k := 1.0; ; k++ {
		e := 2 * math.Pi * k / q
		term := 2 / (e * e) * math.Exp(-e*e*sigma*sigma)
		if sum += term; term <= 1e-5*sum {
			return sum
		}
	}
}

// rounded is the variance of rounding to the count q.
func rounded(q float64) float64 { return q * q / 12 }

// undither returns the deviation of the noise before rounding to the count q
// that leaves rounded readings with the variance v, on the mean over all
// places between two counts: v = σ² + q²/12 - bias2(σ, q), by bisection.
func undither(v, q float64) float64 {
	if q <= 0 {
		return math.Sqrt(v)
	}
	lo, hi := 0.0, math.Sqrt(v)+q
	for range 24 {
		m := (lo + hi) / 2
		if m*m+rounded(q)-bias2(m, q) < v {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// allOnOneCount returns the probability that n values of the deviation sigma
// about the middle of a count q all show that count; 1 for an unknown sigma.
func allOnOneCount(sigma, q float64, n int) float64 {
	if sigma == 0 {
		return 1
	}
	return math.Pow(math.Erf(q/(2*math.Sqrt2*sigma)), float64(n))
}
