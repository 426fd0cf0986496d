package rocking

import "math"

const slots = 9

// slotEdges are the times in seconds since the beginning of a dwell at which the
// slots begin in which its approach is kept, off the round numbers on which
// readings fall; the last has no end. What comes before the first is arrival.
var slotEdges = [slots]float64{0.048, 0.098, 0.148, 0.198, 0.298, 0.398, 0.598, 0.798, 1.198}

// A slot sums n readings of a dwell: their times since its beginning, their
// distance from its level; core of them are behind the level.
type slot struct{ n, t, sum, core float64 }

// slotOf returns the slot of a time since the beginning of the dwell, -1 where
// there is none.
func slotOf(t float64) int {
	k := slots - 1
	for k >= 0 && t < slotEdges[k] {
		k--
	}
	return k
}

// regress returns the sums of a regression of what the dwell shows on
// 1-exp(-t/τ), and the sum of that over the readings behind the level, with their
// number.
func (d *dwell) regress(tau float64) (num, den, sum, core float64) {
	var phi [slots]float64
	var n, mean, level float64
	for k, c := range d.creep {
		if c.n > 0 {
			phi[k] = 1 - math.Exp(-c.t/c.n/tau)
			n += c.n
			mean += c.n * phi[k]
			level += c.sum
			sum += c.core * phi[k]
			core += c.core
		}
	}
	for k, c := range d.creep {
		if c.n > 0 {
			f := phi[k] - mean/n
			num += f * (c.sum - level/n*c.n)
			den += c.n * f * f
		}
	}
	return num, den, sum, core
}
