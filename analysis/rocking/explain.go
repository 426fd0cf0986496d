package rocking

import (
	"math"

	"crownlog/analysis"
)

// A shape is how a stop goes over time.
type shape int

const (
	stays shape = iota
	drifts
	steps // once
	turns // between two levels
)

// A hypothesis says how both stops went over time, and what that is called.
type hypothesis struct {
	name      string
	fault     analysis.Fault
	shape     shape
	high, low bool       // the stops that go so
	at        float64    // when they step, or the level between the two
	size      float64    // of the step, a second of the drift
	level     [2]float64 // of the low and of the high stop without that, at the time middle
	middle    float64
	cost      float64 // minus the logarithm of its likelihood; 0: not to be spoken of
}

var hypotheses = [...]hypothesis{
	{name: "both stay"},
	{name: "both drift", fault: analysis.BaseCreep, shape: drifts, high: true, low: true},
	{name: "high drifts", fault: analysis.PinionSlip, shape: drifts, high: true},
	{name: "low drifts", fault: analysis.PinionSlip, shape: drifts, low: true},
	{name: "both step", fault: analysis.ZeroShift, shape: steps, high: true, low: true},
	{name: "high steps", fault: analysis.PinionSlip, shape: steps, high: true},
	{name: "low steps", fault: analysis.PinionSlip, shape: steps, low: true},
	{name: "high turns", fault: analysis.EndFloat, shape: turns, high: true},
	{name: "low turns", fault: analysis.EndFloat, shape: turns, low: true},
}

// share is how much of the size the stop c shows.
func (h *hypothesis) share(c *stop) float64 {
	switch {
	case c.high && !h.high || !c.high && !h.low:
		return 0
	case h.shape == drifts:
		return c.t - h.middle
	case h.shape == steps && c.t > h.at || h.shape == turns && c.level > h.at:
		return 1
	}
	return 0
}

// miss returns how far the stop c is off.
func (h *hypothesis) miss(c *stop) float64 { return c.level - h.stop(c) }

// stop returns where the stop c should be.
func (h *hypothesis) stop(c *stop) float64 {
	if c.high {
		return h.level[1] + h.size*h.share(c)
	}
	return h.level[0] + h.size*h.share(c)
}

// reach is how far a stop goes over the time span.
func (h *hypothesis) reach(span float64) float64 {
	if h.shape == drifts {
		return math.Abs(h.size) * span
	}
	return math.Abs(h.size)
}

// fit takes the size as Theil and Sen take a slope: the median over all pairs of
// stops of one side, of a long series over those half or a third of it apart; and
// the levels as medians of what is left.
func (h *hypothesis) fit(s *judgeScratch) {
	v := s.values[:0]
	sides := [...]series{s.low, s.high}
	for _, side := range sides {
		n := len(side)
		for i, a := range side {
			for k := i + 1; k < n; k++ {
				if n > manyStops && k != i+n/2 && k != i+n/3 {
					continue
				}
				if d := h.share(side[k]) - h.share(a); d != 0 {
					v = append(v, (side[k].level-a.level)/d)
				}
			}
		}
	}
	h.size = 0
	if len(v) > 0 {
		h.size = medianInPlace(v)
	}
	for i, side := range sides {
		v = v[:0]
		for _, c := range side {
			v = append(v, c.level-h.size*h.share(c))
		}
		h.level[i] = medianInPlace(v)
	}
}

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

// weigh puts the hypothesis into the table, where it is likelier than what stands
// there and large enough to speak of.
func (j *judgement) weigh(i int, h hypothesis) {
	s := j.s
	h.fit(s)
	reach := h.reach(s.dwelt[len(s.dwelt)-1].t - s.dwelt[0].t)
	switch {
	case h.shape == stays:
	case reach <= j.least(),
		h.fault == analysis.EndFloat && reach < nearStop*j.swing,
		h.fault == analysis.ZeroShift && reach < oddCounts*j.tr.count(), // the base was nudged by a count, as is advised
		h.fault != analysis.BaseCreep && h.fault != analysis.ZeroShift && reach > playMost*j.swing:
		return
	default:
		h.cost = faultOdds
	}
	sum := 0.0
	for _, c := range s.dwelt {
		sum += j.squared(h.miss(c))
		if h.shape == turns && (c.high && h.high || !c.high && h.low) {
			h.cost += math.Ln2 // to say at which of the two it is takes a bit
		}
	}
	n := len(s.dwelt)
	if j.nudged { // the low stops are where they were put
		n = len(s.high)
	}
	h.cost += unlikely(n, sum)
	if j.table[i].cost == 0 || h.cost < j.table[i].cost {
		j.table[i] = h
	}
}

// explain chooses the likeliest of what the stops may have done, and names it.
func (j *judgement) explain() {
	s, n := j.s, len(j.s.dwelt)
	span := s.dwelt[n-1].t - s.dwelt[0].t
	j.table = hypotheses
	for i, h := range hypotheses {
		h.middle = s.dwelt[0].t + span/2
		switch {
		case h.shape != stays && n < 4: // two rocks lie on any line
		case h.shape == steps:
			// One stop before or after is an odd stop; of many every few will do.
			for k := 1; k+2 < n; k += 1 + n/(2*manyStops) {
				h.at = s.dwelt[k].t
				if h.high && h.low || h.high && s.high.parted(h.at) || h.low && s.low.parted(h.at) {
					j.weigh(i, h)
				}
			}
		case h.shape == turns:
			side := s.low
			if h.high {
				side = s.high
			}
			if at, ok := side.halves(s.values); ok {
				h.at = at
				j.weigh(i, h)
			}
		default:
			j.weigh(i, h)
		}
	}
	best := &j.table[0]
	for i := range j.table {
		if c := &j.table[i]; c.cost > 0 && c.cost < best.cost {
			best = c
		}
	}
	j.course = j.table[0]
	if !j.nudged && n >= 4 && j.followNudges(best) {
		j.explain()
		return
	}
	j.course = *best
	switch {
	case best.fault == analysis.ZeroShift && j.farShift(best):
		j.faults.add(analysis.OffGear)
	case best.fault != "":
		j.faults.add(best.fault)
	}
	// A drift is taken out, but a wide one need not be straight.
	j.refuse = best.fault != "" && (best.fault != analysis.BaseCreep || best.reach(span) > playMost*j.swing)
}

// farShift reports whether a step of both stops is so large that the plunger
// has come off its tooth rather than the gauge been bumped; one that leaves the
// reading about zero is a zero pressed, however large.
func (j *judgement) farShift(h *hypothesis) bool {
	const bump = 1 // mm
	now := (h.level[0]+h.level[1])/2 + h.size + j.tr.origin
	return math.Abs(h.size) > math.Max(bump, 8*j.swing) && math.Abs(now) > playMost*j.swing
}

// A series is the stops of one side over time.
type series []*stop

// used goes through the stops that are in use.
func (s series) used(yield func(c *stop) bool) {
	for _, c := range s {
		if !c.outlier && !yield(c) {
			return
		}
	}
}

// sound returns how many of the stops are in use.
func (s series) sound() (n int) {
	for range s.used {
		n++
	}
	return n
}

// parted reports whether two of the stops at least are before the time and two
// after it.
func (s series) parted(t float64) bool {
	return len(s) >= 4 && s[1].t <= t && s[len(s)-2].t > t
}

// halves returns the level that parts the stops where they are furthest apart.
// Three in ten stops at least are on either side: fewer are partial rocks.
func (s series) halves(room []float64) (at float64, ok bool) {
	v := room[:0]
	for _, c := range s {
		v = append(v, c.level)
	}
	medianInPlace(v)
	gap := 0.0
	for k, least := 0, max(2, (3*len(v)+9)/10); k <= len(v)-least; k++ {
		if k >= least && v[k]-v[k-1] > gap {
			gap, at = v[k]-v[k-1], (v[k]+v[k-1])/2
		}
	}
	return at, gap > 0
}
