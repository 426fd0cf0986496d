package rocking

import "math"

const (
	// A hypothesis with one parameter more must be so much likelier, as a natural
	// logarithm: one trace in a hundred has a fault, of some twenty kinds and places
	// to begin, and its size is one of some thirty that would be told apart.
	faultOdds = 11.5
	// Hands do not find a stop at the same place twice. Before anything is
	// measured a stop is taken to scatter by handScatter, in mm, as firmly as
	// handRocks stops would show it: three rocks alone tell too little. It never
	// counts for more than handShare of the swing. 1 to 3 µm are common practice,
	// no source; a fitter accepts a range of 5 to 10 µm.
	handScatter = 0.002
	handRocks   = 4
	handShare   = 0.025
	// No tooth and no bearing has more play than so many swings, and no gear gives
	// way further.
	playMost = 1.5
	// The least step, drift or odd stop to speak of as a share of the swing: half the
	// width of usual windows. In counts, limits lie off the simple fractions at which
	// the means of a few readings lie.
	leastShown = 0.04
	oddCounts  = 1.613
	// Stops of a side from which on not every pair and every step is tried, for time.
	manyStops = 12
)

// nearStop is the share of the swing within which a level is the stop itself, found
// by a hand that scatters.
const nearStop = 0.08

func usualScatter(swing float64) float64 { return math.Min(handScatter, handShare*swing) }

// unlikely returns minus the logarithm of the likelihood of n levels that miss by
// the deviations summed in squares, their scatter unknown but for what hands
// usually make of it:
//
//	(n+ν)/2 · ln(1 + Σr²/ν)
//
// Source: marginal likelihood of a normal with inverse-gamma variance, Gelman et
// al., "Bayesian Data Analysis", 3.2.
func unlikely(n int, squares float64) float64 {
	return float64(n+handRocks) / 2 * math.Log1p(squares/handRocks)
}

// squared returns the square of a miss in deviations of a usual stop, noise and what
// the digits hide of a level included. Ten deviations are the most that is counted,
// so that one partial rock is not all of it.
func (j *judgement) squared(miss float64) float64 {
	const most = 10
	usual := math.Hypot(usualScatter(j.swing), math.Hypot(j.blur, j.blind))
	r := math.Min(most, math.Abs(miss)/usual)
	return r * r
}

// least is the least step, drift or odd stop to speak of: the levels must show it.
func (j *judgement) least() float64 {
	return max(leastShown*j.swing, (oddCounts-1)*j.tr.count(), 4*j.blur, 4*j.blind)
}
