package rocking

import "math"

// Hands do not find a stop at the same place twice. Before anything is
// measured a stop is taken to scatter by handScatter, in mm, as firmly as
// handRocks stops would show it: three rocks alone tell too little. It never
// counts for more than handShare of the swing. 1 to 3 µm are common practice,
// no source; a fitter accepts a range of 5 to 10 µm.
const (
	handScatter = 0.002
	handRocks   = 4
	handShare   = 0.02
)

func usualScatter(swing float64) float64 { return math.Min(handScatter, handShare*swing) }

// pooledScatter returns the standard deviation of a stop about the trends
// high and low, which took params parameters from the levels, pooled with the
// usual one. A level further out than most is held to that, so that a partial
// rock counts for little.
func (s *judgeScratch) pooledScatter(high, low trend, params int, swing float64) float64 {
	most := 0.08 * swing
	usual := usualScatter(swing)
	sum, n := handRocks*usual*usual, handRocks-params
	s.misses(high, low, func(_ *stop, miss float64, _ int) {
		d := math.Min(most, math.Abs(miss))
		sum += d * d
		n++
	})
	return math.Sqrt(sum / float64(max(n, 1)))
}

// sureStep is how many standard deviations a step or a drift between two
// groups of levels must be. It is the best of several places, and the
// deviation comes of few rocks.
const sureStep = 6.5

// stepLimit returns the least step between the first k of n levels and the
// others that their scatter does not make; infinite where there are none on one
// side.
func stepLimit(scatter float64, k, n int) float64 {
	return sureStep * scatter * math.Sqrt(1/float64(k)+1/float64(n-k))
}

// driftLimit is stepLimit for a straight drift over n levels: the difference
// of its ends has the deviation sqrt(12(n-1)/(n(n+1))) of one level.
func driftLimit(scatter float64, n int) float64 {
	f := float64(n)
	return sureStep * scatter * math.Sqrt(12*(f-1)/(f*(f+1)))
}
