package rocking

import "math"

// A reading goes on outward after the wheel has come to a stand: gear, arm and
// rubber give way under the push, an oil film is squeezed out, a gauge that
// filters comes late. All of them look like A(1-exp(-t/τ)), common to all stops.
// One dwell shows it hardly above the noise, all of them together do. Where the
// contact is depends on which it was: at the beginning of what gives way, at the
// end of a film or of a lag. What the readings cannot tell stays in the doubt.

// An approach is what all dwells together show of it.
type approach struct {
	size, u float64 // A from the beginning of the dwells on, and its standard uncertainty from the noise
	tau     float64 // τ
	share   float64 // mean of 1-exp(-t/τ) over the readings behind the levels
	gain    float64 // what the fit takes off the sum of squares, in variances of a reading
	lag     float64 // how surely it is the gauge's
	slow    float64 // how surely it is that or a hand slow to arrive
	left    float64 // of a lag: the share of the stroke that a dwell leaves unread
	round   float64 // how far the end of a dwell falls back below its level
	roundU  float64 // its standard uncertainty
	unseen  float64 // half-width of what gives way at a stop before all that
}

// approach fits the sound stops by least squares within each dwell, its level
// free. Readings are taken to have the deviation noise. Another time constant
// than the usual 0.15 s is taken where it fits much better, and that of a lag
// where the strokes show one.
func (s *judgeScratch) approach(noise, swing, interval float64) approach {
	best := s.fit(0.15, noise)
	gain := best.gain
	for _, tau := range [...]float64{0.05, 0.075, 0.1, 0.22, 0.32, 0.5, 0.8} {
		if w := s.fit(tau, noise); w.gain > gain+6 {
			best, gain = w, w.gain
		}
	}
	slide, rest, n := 0.0, 0.0, 0.0
	for c := range s.dwelt.used {
		if c.slide > 0 {
			slide += c.slide
			rest += c.to - c.from
			n++
		}
	}
	// A lag came down the same exponential before the dwell began: it took
	// τ·ln(from/to) from slideFrom of the stroke on, timed to unsharp. A hand that
	// meets a stop takes 0.08 s of that at most.
	if slide = slide/n - unsharp; n > 2 && best.size > 2*best.u {
		w := best
		for range 3 {
			w = s.fit(slide/math.Log(math.Max(1.5, slideFrom*swing/w.size)), noise)
		}
		// A hand that is slow to arrive is done with it sooner than its slide would have
		// it: then the dwells show the shorter time constant far better.
		// From hardly further than the dwell is wide the slide is too short to tell.
		switch lag := ramp(w.tau, 0.08, 0.12) * ramp(slideFrom*swing/best.size, 1.25, 1.75); {
		case w.size <= 2*w.u:
		case best.tau < 0.1 && w.gain < 0.7*gain:
			best.slow = lag
		case lag > 0:
			best = w
			best.lag = lag
			best.left = math.Exp(-(slide + 0.8*rest/n) / (1.2 * w.tau))
		}
	}
	best.round, best.roundU = s.fallBack(noise)
	best.unseen = s.unseen(best, noise, interval)
	return best
}

// fit is the approach with the time constant tau.
func (s *judgeScratch) fit(tau, noise float64) approach {
	var num, den, sum, core float64
	for c := range s.dwelt.used {
		a, b, m, w := c.regress(tau)
		num += c.outward(a)
		den += b
		sum += m
		core += w
	}
	if den <= 0 || core == 0 {
		return approach{}
	}
	num = math.Max(num, 0) // nothing creeps away from its stop
	return approach{
		size: num / den, u: noise / math.Sqrt(den), tau: tau, share: sum / core,
		gain: num * num / den / (noise * noise),
	}
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

// Before anything is measured a stop is taken to give way under the push, as far
// as a dwell shows it, by windUpMean with a standard deviation of windUpSD,
// shares of the backlash: about half a micron at 0.15 mm. Practice gives 1 to
// 5 µm for gear and arm under a hard push, most of it before the reading settles.
const (
	windUpMean = 0.003
	windUpSD   = 0.0035
)

// What gives way too quickly to be seen, at each stop: the mean that is taken
// off, a share of the backlash.
const unseenMean = 0.0003

// UnseenDoubt is the least half-width of the doubt in mm of what gives way at a stop
// too quickly to be seen: a stop that gives way by 3 µm as quickly as the hand moves
// is seen by no gauge. The same hand and the same gear make both stops give way by
// about as much, so the two add. Common practice, no source.
const UnseenDoubt = 0.0023

// stiffDoubt is the most, taken where too little is seen of how the reading arrives:
// it covers springs of up to 6 µm in 0.03 s.
const stiffDoubt = 0.0046

// unseen returns that half-width by what the readings are short of their level in the
// second half of the arrival, beyond what the approach w explains. A spring of 0.03 s
// is short by two thirds of it then, less where the readings are an interval apart. A
// hand that brakes looks the same, so it is no more than a doubt.
func (s *judgeScratch) unseen(w approach, noise, interval float64) float64 {
	const quick = 0.03 // s
	var q slot
	for c := range s.dwelt.used {
		q.n += c.quick.n
		q.sum -= c.outward(c.quick.sum)
	}
	if q.n < 3 { // what one stop shows is nothing
		return stiffDoubt
	}
	short := q.sum / q.n
	if w.tau >= 0.1 { // else it may be the same
		short -= w.size * (math.Exp(-0.75*slotEdges[0]/w.tau) - 1 + w.share)
	}
	short = math.Max(short, 0) + 2*noise/math.Sqrt(q.n)
	return math.Max(UnseenDoubt, math.Min(stiffDoubt, 1.5*math.Exp(interval/2/quick)*short))
}

// ramp is 0 up to a, 1 from b on and straight between.
func ramp(x, a, b float64) float64 { return math.Max(0, math.Min(1, (x-a)/(b-a))) }

// unsharp is how many seconds too long a slide may seem, by the readings' interval.
const unsharp = 0.03

// filming returns how surely the contact is where an approach that is none of the
// gauge's ends, at the swing given. Of 0.15 mm, steel and arm give way by 3 µm,
// rubber and a hard push by 10, an oil film by 5 to 20 (common practice, no
// source): between, it is even. Neither rubber nor oil is done in less than a tenth
// of a second: that is the hand.
func (w *approach) filming(swing float64) float64 {
	share := w.size / swing
	slow := 0.5*ramp(share, 0.02, 0.04) + 0.5*ramp(share, 0.08, 0.13)
	quick := 0.5 + 0.5*ramp(share, 0.02, 0.033)
	return slow + (quick-slow)*(1-ramp(w.tau, 0.075, 0.1))
}
