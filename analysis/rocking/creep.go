package rocking

const slots = 8

// slotEdges are the limits in seconds since the beginning of a dwell of the
// slots in which its creep is kept, off the round numbers on which readings
// fall. What comes before the first is arrival.
var slotEdges = [slots + 1]float64{0.048, 0.098, 0.148, 0.198, 0.298, 0.398, 0.598, 0.798, 1.198}

// slotTimes are the times that stand for the slots.
var slotTimes = [slots]float64{0.075, 0.125, 0.175, 0.25, 0.35, 0.5, 0.7, 1}

// A slot is the sum of n readings, relative to the level of their dwell.
type slot struct{ n, sum float64 }

// slotOf returns the slot of a time since the beginning of the dwell, -1 where
// there is none.
func slotOf(t float64) int {
	for k, edge := range slotEdges {
		if t < edge {
			return k - 1
		}
	}
	return -1
}

// slope returns the sums of a regression of the creep in a dwell on phi, and
// the sum of phi over its readings with their number.
func (d *dwell) slope(phi *[slots]float64) (num, den, sum, n float64) {
	var mean, level float64
	for k, c := range d.creep {
		n += c.n
		sum += c.n * phi[k]
		level += c.sum
	}
	if n == 0 {
		return 0, 0, 0, 0
	}
	mean, level = sum/n, level/n
	for k, c := range d.creep {
		if c.n > 0 {
			f := phi[k] - mean
			num += f * (c.sum - level*c.n)
			den += c.n * f * f
		}
	}
	return num, den, sum, n
}
