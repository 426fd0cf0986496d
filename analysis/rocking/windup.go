package rocking

import "math"

// At a stop the reading creeps outward under the push: gear, arm and oil give
// way a little more. The contact is where the creep began. One dwell shows it
// hardly above the noise, all of them together do.

// A windUp is the outward creep A(1-exp(-t/τ)) common to all dwells.
type windUp struct {
	size   float64 // A
	u      float64 // standard uncertainty of A from the noise
	share  float64 // mean of 1-exp(-t/τ) over the readings behind the levels
	round  float64 // how far the end of a dwell falls back below its level
	roundU float64 // its standard uncertainty
}

// windUp fits the creep to the sound stops by least squares within each dwell,
// its level free. Readings are taken to have the deviation noise. Another time
// constant than the usual 0.15 s is taken where it fits much better.
func (s *judgeScratch) windUp(noise float64) windUp {
	var best windUp
	gain := 0.0
	for i, tau := range [...]float64{0.15, 0.1, 0.22, 0.32, 0.5} {
		var phi [slots]float64
		for k, t := range slotTimes {
			phi[k] = 1 - math.Exp(-t/tau)
		}
		var num, den, sum, n float64
		for c := range s.dwelt.used {
			a, b, m, w := c.slope(&phi)
			num += c.outward(a)
			den += b
			sum += m
			n += w
		}
		if den <= 0 || n == 0 {
			continue
		}
		num = math.Max(num, 0) // nothing creeps away from its stop
		if g := num * num / den / (noise * noise); i == 0 || g > gain+6 {
			gain = g
			best = windUp{size: num / den, u: noise / math.Sqrt(den), share: sum / n}
		}
	}
	best.round, best.roundU = s.fallBack(noise)
	return best
}

// fallBack returns how far the readings turn inward again towards the end of a
// dwell, and the standard uncertainty of that: then the motion was rounded, and
// what looked like creep was its rise.
func (s *judgeScratch) fallBack(noise float64) (back, u float64) {
	var end slot
	for c := range s.dwelt.used {
		end.n += c.end.n
		end.sum -= c.outward(c.end.sum)
	}
	if end.n == 0 {
		return 0, 0
	}
	return end.sum / end.n, noise / math.Sqrt(end.n)
}
