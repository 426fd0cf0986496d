package rocking

import (
	"math"

	"crownlog/analysis/gum"
	"crownlog/analysis/internal/dwells"
)

// A reading goes on outward after the wheel has come to a stand: gear, arm and
// rubber give way under the push, an oil film is squeezed out, the hand brakes, a
// gauge that filters comes late. All of them look like A·(1-exp(-t/τ)), common to
// all stops: one dwell shows it hardly above the noise, all of them together do.
// Where the contact is depends on which it was: at the beginning of what gives way,
// at the end of all else. What the readings cannot tell stays in the doubt.

// A cause is one way in which a reading goes on outward, all as likely as another.
type cause struct {
	name     string
	ends     bool    // the contact is where the reading ends, not where it begins
	size, sd float64 // mm: what A usually is, normal
	from, to float64 // s: between which τ lies, even in its logarithm
}

// The sizes of what gives way and of a film are common practice, no source; of a hand
// that brakes it says only that it is any. Spreads are tuned on the models of hand and
// gauge, the rows of springs, creep, film and lag. A gauge that lags is told from a film
// by nothing but its size: both end at the contact.
var causes = [...]cause{
	steel:   {"steel gives way", false, 0.0010, 0.0031, brisk, slow},
	rubber:  {"rubber gives way", false, 0.0075, 0.003, slow, longest},
	filming: {"oil film, or the gauge lags", true, 0.012, 0.007, brisk, longest},
	brakes:  {"hand brakes", true, 0, 0.006, shortest, 2 * brisk},
}

const (
	steel = iota
	rubber
	filming
	brakes
)

const (
	// Time constants in s: the quickest tried, half of what a hand brakes within, what
	// steel gives way within, and the slowest; those tried are sqrt(2) apart. Tuned on
	// the models; readings show none of them to a third.
	shortest, brisk, slow, longest = 0.02, 0.075, 0.25, 1.1
	// The sizes are those at backlashes from leastUsual to mostUsual, in mm; a smaller
	// gear gives way by less, a larger one by more.
	leastUsual, mostUsual = 0.08, 0.3
	// What a hand adds to the shape of its arrival at all stops, in mm. Tuned on the
	// models: without it fine gauges are sure of too much.
	misfit = 0.0003
)

// UnseenDoubt is the least half-width of the doubt in mm of what gives way at a stop
// too quickly to be seen: a stop that gives way by 3 µm as quickly as the hand moves
// is seen by no gauge. The same hand and the same gear make both stops give way by
// about as much, so the two add. Common practice, no source.
const UnseenDoubt = 0.0023

// An approach is what all dwells together show of it, both stops alike.
type approach struct {
	off, u float64              // contact outward of the level, and its standard uncertainty
	odds   [len(causes)]float64 // of each cause
	cause  int                  // the likeliest
	size   float64              // A of it
	tau    float64
	push   float64 // standard uncertainty of what steel gives, of u
}

// approaching weighs the causes by the sum of all sound stops. Readings have the
// variance noise of their own and share the variance common with all others as old.
func approaching(all *[dwells.Bins]dwells.Bin, noise, common, swing float64) approach {
	var w approach
	scale := math.Max(math.Min(1, swing/leastUsual), swing/mostUsual)
	var sum, mean, square, given float64
	// What steel gives too quickly to be told from a hand that brakes is no more than
	// how far the reading is seen to arrive as quickly.
	num, den, _ := regress(all, shortest, noise, common)
	v := 1 / (1/math.Pow(causes[brakes].sd*scale, 2) + den)
	unseen := math.Min(causes[steel].sd*scale, math.Max(gum.Rectangular(UnseenDoubt), v*num+math.Sqrt(v)))
	most := math.Inf(-1)
	for tau := shortest; tau <= longest; tau *= math.Sqrt2 {
		num, den, share := regress(all, tau, noise, common)
		for i := range causes {
			c := &causes[i]
			if tau < c.from || tau > c.to {
				continue
			}
			size, sd := c.size*scale, c.sd*scale
			v := 1 / (1/(sd*sd) + den)
			sure := size/(sd*sd) + num
			a := math.Max(0, v*sure)
			p := math.Log(math.Sqrt(v)/sd/math.Log(c.to/c.from)) + (sure*sure*v-size*size/(sd*sd))/2
			if p > most {
				k := math.Exp(most - p)
				sum, mean, square, given = sum*k, mean*k, square*k, given*k
				for i := range w.odds {
					w.odds[i] *= k
				}
				most, w.cause, w.size, w.tau = p, i, a, tau
			}
			p = math.Exp(p - most)
			f := -share
			if c.ends {
				f = 1 - share
				square += p * math.Pow(f*a, 2) // what comes after the wheel has left may be any of it
			}
			off, gives := f*a, f*f*v
			if i != steel { // steel gives way as well, unseen
				off -= causes[steel].size * scale
				gives = unseen * unseen
				square += p * f * f * v
			}
			sum += p
			w.odds[i] += p
			mean += p * off
			square += p * off * off
			given += p * gives
		}
	}
	for i := range w.odds {
		w.odds[i] /= sum
	}
	w.off = mean / sum
	w.push = math.Sqrt(given / sum)
	w.u = math.Sqrt(math.Max(0, square/sum-w.off*w.off))
	return w
}

// regress returns the sums of a regression on 1-exp(-t/τ), in variances, and the
// mean of that over the readings behind the level.
func regress(all *[dwells.Bins]dwells.Bin, tau, noise, common float64) (num, den, share float64) {
	var phi, weight [dwells.Bins]float64
	var sum, mean, level, core float64
	for k, b := range all {
		if b.N == 0 {
			continue
		}
		phi[k] = 1 - math.Exp(-b.T/b.N/tau)
		weight[k] = 1 / (noise/b.N + common)
		sum += weight[k]
		mean += weight[k] * phi[k]
		level += weight[k] * b.Off / b.N
		share += b.Core * phi[k]
		core += b.Core
	}
	for k, b := range all {
		if b.N > 0 {
			f := phi[k] - mean/sum
			num += weight[k] * f * (b.Off/b.N - level/sum)
			den += weight[k] * f * f
		}
	}
	if core == 0 {
		return 0, 0, 1
	}
	return num, den, share / core
}
