package identify

import (
	"math"
	"slices"
)

// Evidence is counted in bits: how much shorter one hypothesis lets the bytes be
// written than another. Ten bits are a thousand to one.

// leastMargin is what the best proposal must be ahead of the next that reads
// other values, to be believed without a question: 250 to one.
const leastMargin = 8

// mostOrder of differences are tried: the movement of a hand is smooth, so that
// of a fine gauge the fourth differences are no more than its noise.
const mostOrder = 4

// seriesBits returns how many bits it takes to write whole counts one after the
// other, each as its difference from what the ones before let expect: the last
// value, the line through the last two, or a curve. The differences are written in
// the cheaper of two codes:
//
//	Laplace   n·log2(1 + 2e·mean|d|)     an even movement
//	gamma     Σ 2·log2(1 + |d|)          rest, with a jump now and then
//
// Bytes that are no value jump, and so does a value without its low byte or with
// a foreign one.
// Source: P. Elias, Universal codeword sets, 1975; entropy of the Laplace
// distribution, log2(2e·b).
func seriesBits(v []float64) float64 {
	best := math.Inf(1)
	d := slices.Clone(v)
	for order := 0; order < mostOrder && len(d) > 1; order++ {
		sum, gamma := 0.0, 0.0
		for i := range len(d) - 1 {
			d[i] = d[i+1] - d[i]
			sum += math.Abs(d[i])
			gamma += 2 * math.Log2(1+math.Abs(d[i]))
		}
		d = d[:len(d)-1]
		best = min(best, gamma, float64(len(d))*math.Log2(1+2*math.E*sum/float64(len(d))))
	}
	return best
}

// movedBits says how much a movement of so many counts speaks for a value: what
// the fitter moves while identify listens goes further than what wanders by
// itself, and twice as far is twice as telling.
func movedBits(v []float64) float64 { return 2 * math.Log2(1+slices.Max(v)-slices.Min(v)) }

// clockwork reports whether nearly all steps of a series are the same and not 0,
// as of a counter, or it never falls and mostly rises, as a clock does.
func clockwork(v []float64) bool {
	steps, falls := map[float64]int{}, 0
	for i := 1; i < len(v); i++ {
		steps[v[i]-v[i-1]]++
		if v[i] < v[i-1] {
			falls++
		}
	}
	for step, n := range steps {
		if step != 0 && float64(n) >= 0.9*float64(len(v)-1) {
			return true
		}
	}
	return len(v) >= 4*leastFrames && falls == 0 && steps[0]*2 < len(v)
}
