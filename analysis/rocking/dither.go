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

// measureDither estimates how far the readings at a stop spread, from all of
// them, so that both the noise and the small differences between rocks count:
// either moves the digits. The quantised variance is turned back into that of
// the signal by the mean over all places between two digits. As far as the
// readings within a dwell span more than two counts the noise is known and holds
// for both stops; else each has to show its own.
func (j *judgement) measureDither() {
	s := j.s
	q := j.tr.count()
	j.measureNoise()
	high, low := j.spread(s.high), j.spread(s.low)
	if len(s.high) == 0 {
		high = low
	}
	if len(s.low) == 0 {
		low = high
	}
	mean := (high + low) / 2
	known := math.Min(1, 3*math.Max(j.movingShare(s.high), j.movingShare(s.low)))
	j.dithers = [2]float64{
		undither(known*mean+(1-known)*high, q),
		undither(known*mean+(1-known)*low, q),
	}
	j.still = min(j.dithers[0], j.dithers[1]) < q/5
}

// spread returns the variance of all settled readings about the median level
// of their stop, partial rocks left out.
func (j *judgement) spread(side series) float64 {
	c := side.steady(j.s.values).level
	sum, n := 0.0, 0
	for _, d := range side {
		e := d.level - c
		if math.Abs(e) > math.Max(1.613*j.tr.count(), 0.04*j.swing) {
			e = 0
		}
		sum += d.sumsq + e*e*float64(d.core)
		n += d.core
	}
	return sum / math.Max(1, float64(n-1))
}

// measureNoise estimates the noise within a usual dwell.
func (j *judgement) measureNoise() {
	s := j.s
	within, cores := s.values[:0], 0
	for _, c := range s.dwelt {
		if c.core > 1 {
			within = append(within, c.sumsq/float64(c.core-1))
			cores += c.core
		}
	}
	if n := len(within); n > 0 {
		j.within = undither(medianInPlace(within), j.tr.count())
		j.blur = j.within / math.Sqrt(float64(cores)/float64(n))
	}
	j.quiet = j.within < j.tr.count()/5
}
