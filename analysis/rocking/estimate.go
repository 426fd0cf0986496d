package rocking

import (
	"cmp"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

// estimate is what the sound stops amount to, as read.
type estimate struct {
	stops     total
	arrival   approach
	mean      float64 // distance between adjacent stops
	low, high float64 // levels of the stops
	creepU    float64 // standard uncertainty of what was creep at the stops, taken out
	taken     float64 // what was taken off for it
	push      float64 // half-width of the doubt of what gives way unseen at both stops together
	film      bool    // the contact may be where the creep ends
	left      int     // rests of a long trace that are left out
}

// estimate takes the mean distance of adjacent sound stops, each level first
// brought to the middle of the trace by the creep of the base, then to the contacts
// of the wheel, as far as the approach tells where they are. push is as in Options,
// old what of a long trace is no longer kept.
func (j *judgement) estimate(push float64, old *past) estimate {
	p := estimate{stops: j.total(math.Inf(1)), left: old.left}
	if old.agrees(&p.stops, j.least()) {
		p.stops.add(&old.total)
	} else {
		p.left += old.rests
	}
	p.mean = p.stops.strokes.mean()
	p.low, p.high = p.stops.low.mean(), p.stops.high.mean()
	if j.nudged { // the levels of either side are told from one of the other
		half := (p.high - p.low) / 2
		p.high, p.low = j.centre+half, j.centre-half
	}
	p.arrival = j.approach(&p.stops.creep)
	w := &p.arrival
	// More than twice the least is no common push, as where a backlash is typed: the
	// rest is doubt of this trace.
	seen := 2 * w.push / gum.Rectangular(1)
	p.push = cmp.Or(push, math.Min(math.Max(2*UnseenDoubt, seen), 2*2*UnseenDoubt))
	p.creepU, p.taken = 2*w.u, -2*w.off
	if push == 0 && seen > p.push {
		p.creepU = math.Hypot(p.creepU, gum.Rectangular(math.Sqrt(seen*seen-p.push*p.push)))
	}
	p.film = w.cause == filming && w.size > UnseenDoubt
	p.mean -= p.taken
	return p
}

// approach weighs what the sum of all stops shows of it. What the digits hide is
// common to all readings of a stop.
func (j *judgement) approach(all *[dwells.Bins]dwells.Bin) approach {
	v := j.s.values[:0]
	for c := range j.s.dwelt.used {
		noise := c.Noise * c.Noise
		if noise == 0 && c.Core > 1 { // too few readings for differences
			noise = c.Sumsq / float64(c.Core-1)
		}
		v = append(v, noise)
	}
	return approaching(all, stat.MedianInPlace(v), j.hidden/2+misfit*misfit, j.swing)
}

// total sums up the stops up to the time until, the creep of the base taken out.
func (j *judgement) total(until float64) total {
	s := j.s
	if j.course.fault == analysis.BaseCreep {
		for _, c := range s.dwelt {
			c.Level -= j.course.size * j.course.share(c)
		}
		j.course.size = 0
	}
	t := total{low: s.low.sum(until, s.values), high: s.high.sum(until, s.values)}
	v := s.values[:0]
	for i := range s.turns {
		b := &s.turns[i]
		if !b.dwelt || b.To > until {
			continue
		}
		t.rests++
		if b.outlier {
			continue
		}
		for k, c := range b.Creep {
			t.creep[k].Add(c, b.outward(1))
		}
		if i > 0 && s.turns[i-1].dwelt && !s.turns[i-1].outlier {
			v = append(v, math.Abs(s.turns[i-1].Level-b.Level))
		}
	}
	t.strokes = sumOf(v)
	return t
}

// sum sums up the stops in use up to the time until.
func (s series) sum(until float64, room []float64) side {
	v := room[:0]
	for c := range s.used {
		if c.To <= until {
			v = append(v, c.Level)
		}
	}
	return sumOf(v)
}
