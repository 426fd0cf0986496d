package motion

import (
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// Packed brings a trace down to n readings at most, each the median of its
// share: single wild readings go, the shape stays.
func Packed(s []analysis.Sample, n int) []analysis.Sample {
	each := (len(s) + n - 1) / n
	if each <= 1 {
		return s
	}
	var p []analysis.Sample
	for i := 0; i < len(s); i += each {
		part := s[i:min(i+each, len(s))]
		p = append(p, analysis.Sample{T: stat.Mean(analysis.Times(part)), X: stat.Median(analysis.Values(part))})
	}
	return p
}

// calmed replaces single wild readings, three in a row at most, by the median
// of those around, so that they do not count in the search for the turn.
// Source: Hampel filter, 6 robust deviations.
func calmed(s []analysis.Sample, step float64) []analysis.Sample {
	const reach = 3
	around := make([]float64, len(s))
	off := make([]float64, len(s))
	x := analysis.Values(s)
	for i := range s {
		around[i] = stat.Median(x[max(0, i-reach):min(len(s), i+reach+1)])
		off[i] = x[i] - around[i]
	}
	limit := math.Max(6*stat.RobustSD(off), 3*step)
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
func rests(s []analysis.Sample, step float64) (from, to int) {
	x := analysis.Values(s)
	room := math.Max(1.5*step, 2.5*stat.RobustSD(stat.Differences(stat.Differences(x)))/math.Sqrt(6))
	from, to = 0, len(s)
	if low, high := stat.Extremes(x); room > (high-low)/8 {
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
	x = x[:len(x)-len(x)/4]
	ones, line, bend := make([]float64, len(x)), make([]float64, len(x)), make([]float64, len(x))
	for i := range x {
		u := float64(2*i)/float64(len(x)) - 1
		ones[i], line[i], bend[i] = 1, u, u*u
	}
	_, _, rest, ok := stat.Weighted([][]float64{ones, line, bend}, x, ones, math.Inf(1))
	return len(x) < 5 || !ok || stat.StdDev(rest) >= stat.StdDev(x)/math.Sqrt2
}

// restLength returns how many of the first values stay within room of their
// mean, three wild ones in a row apart.
func restLength(x []float64, room float64) int {
	const wild = 3
	sum, n, out := stat.Median(x[:min(len(x), 9)]), 1, 0
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
