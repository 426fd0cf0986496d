package rocking

import (
	"cmp"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// estimate is what the sound stops amount to, as read.
type estimate struct {
	n         int
	mean      float64 // distance between adjacent stops
	low, high sideMean
	creepU    float64 // standard uncertainty of what was creep at the stops, taken out
	taken     float64 // what was taken off for it
	push      float64 // half-width of the doubt of what gives way unseen at both stops together
	film      bool    // the contact may be where the creep ends
}

// A sideMean is the mean level of the stops in use on one side.
type sideMean struct {
	n, mean, sd float64 // NaN without stops, sd with one
}

// estimate takes the mean distance of adjacent sound stops, each level first
// brought to the middle of the trace by the creep of the base, then to the contacts
// of the wheel, as far as the approach tells where they are. push is as in Options.
func (j *judgement) estimate(push float64) estimate {
	s := j.s
	var p estimate
	if j.course.fault == analysis.BaseCreep {
		for _, c := range s.dwelt {
			c.level -= j.course.size * j.course.share(c)
		}
		j.course.size = 0
	}
	sum := 0.0
	for i := 1; i < len(s.turns); i++ {
		a, b := &s.turns[i-1], &s.turns[i]
		if a.dwelt && b.dwelt && !a.outlier && !b.outlier {
			sum += math.Abs(a.level - b.level)
			p.n++
		}
	}
	p.mean = sum / math.Max(1, float64(p.n))
	p.low, p.high = s.low.mean(s.values), s.high.mean(s.values)
	if j.nudged { // the levels of either side are told from one of the other
		half := (p.high.mean - p.low.mean) / 2
		p.high.mean, p.low.mean = j.centre+half, j.centre-half
	}
	w := j.approach()
	// More than twice the least is no common push, as where a backlash is typed: the
	// rest is doubt of this trace.
	seen := 2 * math.Sqrt(3) * w.push
	p.push = cmp.Or(push, math.Min(math.Max(2*UnseenDoubt, seen), 2*2*UnseenDoubt))
	p.creepU, p.taken = 2*w.u, -2*w.off
	if push == 0 && seen > p.push {
		p.creepU = math.Hypot(p.creepU, math.Sqrt((seen*seen-p.push*p.push)/3))
	}
	p.film = w.odds[filming] > 0.5 && w.size > 0.003
	p.mean -= p.taken
	return p
}

// approach weighs what is seen of it. What the digits hide is common to all readings
// of a stop.
func (j *judgement) approach() approach {
	v := j.s.values[:0]
	for c := range j.s.dwelt.used {
		noise := c.noise * c.noise
		if noise == 0 && c.core > 1 { // too few readings for second differences
			noise = c.sumsq / float64(c.core-1)
		}
		v = append(v, noise)
	}
	return j.s.approach(medianInPlace(v), j.hidden/4+misfit*misfit, j.swing)
}

// mean sums up the stops in use.
func (s series) mean(room []float64) sideMean {
	v := room[:0]
	for c := range s.used {
		v = append(v, c.level)
	}
	return sideMean{float64(len(v)), stat.Mean(v), stat.StdDev(v)}
}
