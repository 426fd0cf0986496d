package analysis

import (
	"math"
	"slices"
)

// cleanSamples drops readings that are not numbers or do not come later than
// the one before, and counts gaps: intervals ten times the usual one. A
// negative trace is turned over.
func cleanSamples(samples []Sample) (s []Sample, gaps int) {
	var steps []float64
	sum := 0.0
	for _, q := range samples {
		if !sensible(q.T) || !sensible(q.X) || (len(s) > 0 && q.T <= s[len(s)-1].T) {
			continue
		}
		if len(s) > 0 {
			steps = append(steps, q.T-s[len(s)-1].T)
		}
		s = append(s, q)
		sum += q.X
	}
	if sum < 0 {
		for i := range s {
			s[i].X = -s[i].X
		}
	}
	if len(steps) == 0 {
		return s, 0
	}
	usual := Median(steps)
	for _, d := range steps {
		if d > 10*usual && d > 0.5 {
			gaps++
		}
	}
	return s, gaps
}

func span(s []Sample) float64 {
	if len(s) == 0 {
		return 0
	}
	return s[len(s)-1].T - s[0].T
}

func values(s []Sample) []float64 {
	x := make([]float64, len(s))
	for i, q := range s {
		x[i] = q.X
	}
	return x
}

func times(s []Sample) []float64 {
	t := make([]float64, len(s))
	for i, q := range s {
		t[i] = q.T
	}
	return t
}

func differences(x []float64) []float64 {
	d := make([]float64, 0, len(x))
	for i := 1; i < len(x); i++ {
		d = append(d, x[i]-x[i-1])
	}
	if len(d) == 0 {
		return []float64{0}
	}
	return d
}

// displayStep returns the step of the display that the readings came from: the
// largest number that all their differences are multiples of. It is 0 when all
// are alike, and when they are not rounded to any step.
func displayStep(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	if len(s) < 2 {
		return 0
	}
	tolerance := 1e-9 * math.Max(math.Abs(s[0]), math.Abs(s[len(s)-1]))
	step := 0.0
	for i := 1; i < len(s); i++ {
		a, b := step, s[i]-s[i-1]
		if b <= tolerance {
			continue
		}
		for b > tolerance { // Euclid's algorithm
			rest := math.Mod(a, b)
			if rest > b-tolerance {
				rest = 0
			}
			a, b = b, rest
		}
		step = a
		if step < 1e3*tolerance {
			return 0
		}
	}
	return step
}

// smoothed is the running mean of x over 2·half+1 values.
func smoothed(x []float64, half int) []float64 {
	y := make([]float64, 0, len(x))
	for i := half; i+half < len(x); i++ {
		y = append(y, Mean(x[i-half:i+half+1]))
	}
	if len(y) == 0 {
		return x
	}
	return y
}

// thinned brings a trace down to n points at most, each the median of its
// share: single wild readings go, the shape stays.
func thinned(s []Sample, n int) (t, x []float64) {
	each := max(1, (len(s)+n-1)/n)
	for i := 0; i < len(s); i += each {
		part := s[i:min(i+each, len(s))]
		t = append(t, Mean(times(part)))
		x = append(x, Median(values(part)))
	}
	return t, x
}

// packed brings a trace down to n readings at most, each the median of its
// share.
func packed(s []Sample, n int) []Sample {
	each := (len(s) + n - 1) / n
	if each <= 1 {
		return s
	}
	var p []Sample
	for i := 0; i < len(s); i += each {
		part := s[i:min(i+each, len(s))]
		p = append(p, Sample{Mean(times(part)), Median(values(part))})
	}
	return p
}

// calmed replaces single wild readings, three in a row at most, by the median
// of those around, so that they do not count in the search for the turn.
// Source: Hampel filter, 6 robust deviations.
func calmed(s []Sample, step float64) []Sample {
	const reach = 3
	around := make([]float64, len(s))
	off := make([]float64, len(s))
	x := values(s)
	for i := range s {
		around[i] = Median(x[max(0, i-reach):min(len(s), i+reach+1)])
		off[i] = x[i] - around[i]
	}
	limit := math.Max(6*robustSD(off), 3*step)
	calm := slices.Clone(s)
	for i, d := range off {
		if math.Abs(d) > limit {
			calm[i].X = around[i]
		}
	}
	return calm
}

// rests returns the part of s between a rest before the turning and one after
// it; 0 and len(s) where there is none of a second or more, where what is as
// even as a rest still goes up or down, as a high spot does, or where the
// movement stands too little out of the noise to tell. The noise is taken from
// second differences, which a slow movement does not enter.
func rests(s []Sample, step float64) (from, to int) {
	x := values(s)
	room := math.Max(1.5*step, 2.5*robustSD(differences(differences(x)))/math.Sqrt(6))
	from, to = 0, len(s)
	if low, high := extremes(x); room > (high-low)/8 {
		return from, to
	}
	if n := restLength(x, room); s[n].T-s[0].T >= 1 && even(x[:n]) {
		from = n
	}
	slices.Reverse(x)
	if n := restLength(x, room); s[len(s)-1].T-s[len(s)-1-n].T >= 1 && even(x[:n]) {
		to = len(s) - n
	}
	return from, to
}

// even reports whether values that lie within a rest's room scatter about one
// level: a parabola through them explains less than half of their scatter. The
// last quarter, in which the movement may have begun, is left out.
func even(x []float64) bool {
	_, y := thinned(evenly(x[:len(x)-len(x)/4]), 100)
	n := len(y)
	if n < 5 {
		return true
	}
	// Orthogonal polynomials of first and second degree over -1 to 1.
	total, first, second, norm1, norm2 := 0.0, 0.0, 0.0, 0.0, 0.0
	mean := Mean(y)
	spread := float64(n+1) / float64(3*(n-1)) // mean square of the places
	for i, v := range y {
		u := 2*float64(i)/float64(n-1) - 1
		w := u*u - spread
		total += (v - mean) * (v - mean)
		first, norm1 = first+u*(v-mean), norm1+u*u
		second, norm2 = second+w*(v-mean), norm2+w*w
	}
	return first*first/norm1+second*second/norm2 <= total/2
}

// evenly makes a trace of values, one a second.
func evenly(x []float64) []Sample {
	s := make([]Sample, len(x))
	for i, v := range x {
		s[i] = Sample{float64(i), v}
	}
	return s
}

// restLength returns how many of the first values stay within room of their
// mean, three wild ones in a row apart.
func restLength(x []float64, room float64) int {
	const wild = 3
	sum, n, out := Median(x[:min(len(x), 9)]), 1, 0
	for i, v := range x {
		if math.Abs(v-sum/float64(n)) > room {
			if out++; out > wild {
				return i - wild
			}
			continue
		}
		sum, n, out = sum+v, n+1, 0
	}
	return len(x) - 1
}

func extremes(x []float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range x {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return low, high
}
