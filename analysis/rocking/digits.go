package rocking

import (
	"math"

	"crownlog/analysis"
)

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
		return q * q / 12
	}
	sum := 0.0
	for k := 1.0; k <= 40; k++ {
		e := 4 * math.Pi * math.Pi * k * k * sigma * sigma / (q * q)
		term := q * q / (2 * math.Pi * math.Pi * k * k) * math.Exp(-e)
		sum += term
		if term < 1e-5*sum {
			break
		}
	}
	return sum
}

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
		if m*m+q*q/12-bias2(m, q) < v {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// measureDither estimates how far the readings at each stop spread, so that both
// the noise and the small differences between rocks count: either moves the
// digits. The noise of readings that are seen to move holds for both stops.
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
	high, low := s.high.spread(s.values, q, j.swing), s.low.spread(s.values, q, j.swing)
	if len(s.high) == 0 || len(s.low) == 0 {
		high = high + low
		low = high
	}
	mean := (high + low) / 2
	known := math.Min(1, 3*math.Max(s.high.movingShare(q), s.low.movingShare(q)))
	j.dithers = [2]float64{undither(known*mean+(1-known)*high, q), undither(known*mean+(1-known)*low, q)}
	j.still = min(j.dithers[0], j.dithers[1]) < q/5
}

// spread returns the variance of all settled readings about the median level of
// the stop, partial rocks left out; 0 without any.
func (s series) spread(room []float64, q, swing float64) float64 {
	c := s.through(trend{}, room).level
	sum, n := 0.0, 0
	for _, d := range s {
		if e := d.level - c; math.Abs(e) <= math.Max(1.613*q, 0.04*swing) {
			sum += e * e * float64(d.core)
		}
		sum += d.sumsq
		n += d.core
	}
	return sum / math.Max(1, float64(n-1))
}

// movingShare returns the share of dwells at the stop whose readings move to and
// fro over more than two counts. Two counts prove nothing: a still reading on
// the edge shows them, and how far it is from the edge is not known. Nor does
// the edge of the motion, which changes the reading only a few times.
func (s series) movingShare(q float64) float64 {
	moving := 0
	for c := range s.used {
		if c.max-c.min > 1.5*q && 4*c.changes > c.core {
			moving++
		}
	}
	return float64(moving) / math.Max(1, float64(len(s)))
}

// lookForClipping looks for a stop that is perfectly flat and identical every
// time while the other one varies: the plunger at the end of its travel. It
// speaks only when a sound stop, even one in the middle of a count, would
// hardly ever look like that, by the noise or by the scatter of the hand that
// the other stop shows; a hand that scatters at all does so by half the usual.
// Where both are well below a count it cannot tell.
func (j *judgement) lookForClipping() {
	s, q := j.s, j.tr.count()
	for _, pair := range [][2]series{{s.high, s.low}, {s.low, s.high}} {
		flat, other := pair[0], pair[1]
		n, dwells := flat.identical()
		if len(flat) < 3 || len(other) < 3 || n < 9 { // three dwells of three readings
			continue
		}
		noise, scatter, shows := other.variation(q)
		if scatter > 0 {
			scatter = math.Max(scatter, handScatter/2)
		}
		j.flat = j.flat || scatter > 0 || shows || q <= handScatter
		// By the noise of many readings once in 1e4 traces, by the scatter of a few
		// dwells once in 40: few dwells never make it rarer.
		if allOnOneCount(noise, q, n) < 1e-4 || allOnOneCount(scatter, q, dwells) < 0.025 {
			j.faults.add(analysis.EndOfTravel)
			j.refuse = true
		}
	}
}

// allOnOneCount returns the probability that n values of the deviation sigma
// about the middle of a count q all show that count; 1 for an unknown sigma.
func allOnOneCount(sigma, q float64, n int) float64 {
	if sigma == 0 {
		return 1
	}
	return math.Pow(math.Erf(q/(2*math.Sqrt2*sigma)), float64(n))
}

// identical returns the number of settled readings at the stop and in how many
// dwells, if they were all the same, else 0.
func (s series) identical() (n, dwells int) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for c := range s.used {
		lo, hi = math.Min(lo, c.min), math.Max(hi, c.max)
		n += c.core
		dwells++
	}
	if !(hi-lo <= 1e-9*math.Abs(hi)) {
		return 0, 0
	}
	return n, dwells
}

// variation returns the noise of the readings within the dwells at a stop, as far
// as most of them move over more than two counts, or of many readings a few; the
// least scatter from rock to rock that its levels leave likely; and whether the
// readings within most dwells differ.
func (s series) variation(q float64) (noise, scatter float64, shows bool) {
	const many = 12
	const least = 0.6 // of the estimate, what 3 to 8 levels leave at 95 %: sqrt(ν/χ²)
	var within, sum, sumsq, n, readings, moving, long float64
	for c := range s.used {
		d := c.level - s[0].level
		sum, sumsq, n = sum+d, sumsq+d*d, n+1
		within, readings = within+c.sumsq, readings+float64(c.core-1)
		if c.max > c.min {
			moving++
		}
		if c.core >= many {
			long++
		}
	}
	if share := s.movingShare(q); readings >= 3 && (share >= 0.5 || 2*long > n && share >= 0.1) {
		noise = undither(within/readings, q)
	}
	if v := sumsq - sum*sum/n; n >= 3 && v > 0 {
		scatter = least * undither(v/(n-1), q)
	}
	return noise, scatter, 2*moving > n
}
