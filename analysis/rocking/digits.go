package rocking

import (
	"math"

	"crownlog/analysis"
)

// measureDither estimates how far the readings at each stop spread, so that both
// the noise and the small differences between rocks count: either moves the digits.
func (j *judgement) measureDither() {
	s, q := j.s, j.tr.count()
	within, cores := s.values[:0], 0
	for _, c := range s.dwelt {
		if c.core > 1 {
			within = append(within, c.sumsq/float64(c.core-1))
			cores += c.core
		}
	}
	if n := len(within); n > 0 {
		noise := undither(medianInPlace(within), q)
		j.blur = noise / math.Sqrt(float64(cores)/float64(n))
		j.blind = math.Sqrt(bias2(noise, q))
	}
	for i, side := range [...]series{s.low, s.high} {
		j.dithers[i] = undither(side.spread(s.values, q, j.swing), q)
	}
	j.still = min(j.dithers[0], j.dithers[1]) < q/5
}

// spread returns the variance of all settled readings about the median level of
// the stop, partial rocks left out; 0 without any.
func (s series) spread(room []float64, q, swing float64) float64 {
	v := room[:0]
	for _, c := range s {
		v = append(v, c.level)
	}
	middle, sum, n := medianInPlace(v), 0.0, 0
	for _, c := range s {
		if e := c.level - middle; math.Abs(e) <= math.Max(oddCounts*q, leastShown*swing) {
			sum += e * e * float64(c.core)
		}
		sum += c.sumsq
		n += c.core
	}
	return sum / math.Max(1, float64(n-1))
}

// lookForClipping looks for a stop that is perfectly flat and identical every
// time while the other one varies: the plunger at the end of its travel. It
// speaks only when a sound stop, even one in the middle of a count, would
// hardly ever look like that, by the noise or by the scatter of the hand that
// the other stop shows; a hand that scatters at all does so by half the usual.
// Where both are well below a count it cannot tell.
func (j *judgement) lookForClipping() {
	s, q := j.s, j.tr.count()
	for _, pair := range [...][2]series{{s.high, s.low}, {s.low, s.high}} {
		flat, other := pair[0].vary(), pair[1].vary()
		if flat.dwells < minRocks || other.dwells < minRocks || flat.readings < minRocks*minDwellN || flat.span > 0 {
			continue
		}
		noise, scatter := 0.0, 0.0
		if other.span > 1.5*q { // over more than two counts, which an edge does not
			noise = undither(other.within, q)
		}
		if other.between > 0 {
			// Of the estimate, what 3 to 8 levels leave at 95 %: sqrt(ν/χ²).
			scatter = math.Max(0.6*undither(other.between, q), handScatter/2)
		}
		j.flat = j.flat || scatter > 0 || other.span > 0 || q <= handScatter
		// By the noise of many readings once in 1e4 traces, by the scatter of a few
		// dwells once in 40: few dwells never make it rarer.
		if allOnOneCount(noise, q, flat.readings) < 1e-4 || allOnOneCount(scatter, q, flat.dwells) < 0.025 {
			j.faults.add(analysis.EndOfTravel)
			j.refuse = true
		}
	}
}

// A variation is how the settled readings of one stop vary: the variance within its
// dwells and between their levels, and the range of all.
type variation struct {
	dwells, readings      int
	within, between, span float64
}

func (s series) vary() variation {
	var v variation
	var sum, square float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for c := range s.used {
		d := c.level - s[0].level
		sum, square = sum+d, square+d*d
		v.within += c.sumsq
		v.dwells++
		v.readings += c.core
		lo, hi = math.Min(lo, c.min), math.Max(hi, c.max)
	}
	n := float64(v.dwells)
	v.within /= math.Max(1, float64(v.readings)-n)
	v.between = (square - sum*sum/n) / (n - 1)
	if v.span = hi - lo; v.span <= 1e-9*math.Abs(hi) { // decimal digits held in binary
		v.span, v.between = 0, 0
	}
	return v
}

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
