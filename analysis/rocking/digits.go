package rocking

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// measureNoise estimates what the noise and the digits leave of doubt in the level of
// one dwell.
func (j *judgement) measureNoise() {
	within, cores := j.s.values[:0], 0
	for _, c := range j.s.dwelt {
		if c.core > 1 {
			within = append(within, c.sumsq/float64(c.core-1))
			cores += c.core
		}
	}
	if n := len(within); n > 0 {
		noise := undither(medianInPlace(within), j.tr.count())
		j.blur = noise / math.Sqrt(float64(cores)/float64(n))
		j.blind = math.Sqrt(bias2(noise, j.tr.count()))
	}
}

// measureDither estimates how far the readings at each stop spread, so that both
// the noise and the small differences between rocks count: either moves the digits.
func (j *judgement) measureDither() {
	// Less noise than this part of a count hides from averages more than a third of what
	// a still gauge hides, as a deviation: bias2.
	const stillest = 5
	s, q := j.s, j.tr.count()
	for i, side := range [...]series{s.low, s.high} {
		j.varies[i] = side.vary(s.values)
	}
	if j.nudged { // the low stops are where they were put
		j.varies[0] = j.varies[1]
	}
	for _, v := range j.varies {
		dither := undither(v.within+v.between, q)
		j.hidden += bias2(dither, q)
		j.still = j.still || dither < q/stillest
	}
}

// lookForClipping looks for a stop that is perfectly flat and identical every
// time while the other one varies: the plunger at the end of its travel. It
// speaks only when a sound stop, even one in the middle of a count, would seldom look
// like that, by the scatter of the hand that the other stop shows, which if any is the
// usual, or by its noise; that must be rarer still, since a stop that creeps looks
// noisy. Where both are well below a count it cannot tell.
func (j *judgement) lookForClipping() {
	q := j.tr.count()
	for i, flat := range j.varies {
		other := j.varies[1-i]
		if min(flat.dwells, other.dwells) < minRocks || flat.readings < minRocks*minDwellN || flat.span > q/2 {
			continue
		}
		var noise, scatter float64
		if other.span > q/2 {
			scatter = math.Max(undither(other.between, q), handScatter)
		}
		if other.span > q+q/2 { // over more than two counts, which an edge does not
			noise = undither(other.within, q)
		}
		j.flat = j.flat || scatter > 0 || q <= handScatter
		if allOnOneCount(noise, q, flat.readings) < seldom*seldom || allOnOneCount(scatter, q, flat.dwells) < seldom {
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

func (s series) vary(room []float64) (v variation) {
	levels := room[:0]
	lo, hi := math.Inf(1), math.Inf(-1)
	for c := range s.used {
		levels = append(levels, c.level)
		v.readings += c.core
		v.within += c.sumsq
		lo, hi = math.Min(lo, c.min), math.Max(hi, c.max)
	}
	v.dwells, v.span = len(levels), hi-lo
	v.within /= math.Max(1, float64(v.readings-v.dwells))
	v.between = stat.Square(stat.StdDev(levels))
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
