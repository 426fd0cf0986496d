package rocking

import (
	"math"

	"crownlog/analysis/internal/stat"
)

// estimate is what the sound stops amount to, as read.
type estimate struct {
	n         int
	mean      float64 // distance between adjacent stops
	high, low sideMean
	creepU    float64 // standard uncertainty of what was creep at the stops, taken out
	film      bool    // the creep was an oil film and was added instead
}

// A sideMean is the mean level of the stops in use on one side.
type sideMean struct {
	n        int
	mean, sd float64 // NaN without stops, sd with one
}

// estimate takes the mean distance of adjacent sound stops, each level first
// brought to the middle of the trace by the creep of the base.
func (j *judgement) estimate() estimate {
	s := j.s
	var p estimate
	level := func(c *stop) float64 { return c.level - j.creep*(c.t-j.middle) }
	sum := 0.0
	for i := 1; i < len(s.turns); i++ {
		a, b := &s.turns[i-1], &s.turns[i]
		if a.dwelt && b.dwelt && !a.outlier && !b.outlier {
			sum += math.Abs(level(a) - level(b))
			p.n++
		}
	}
	if p.n > 0 {
		p.mean = sum / float64(p.n)
	}
	p.high, p.low = s.high.use(level, s.values), s.low.use(level, s.values)
	p.contact(s.windUp(math.Hypot(j.within, j.tr.count()/math.Sqrt(12))))
	return p
}

// use sums up the stops in use, their levels as told.
func (s series) use(level func(*stop) float64, room []float64) sideMean {
	v := room[:0]
	for c := range s.used {
		v = append(v, level(c))
	}
	return sideMean{len(v), stat.Mean(v), stat.StdDev(v)}
}

// Before anything is measured a stop is taken to give way under the push by
// windUpMean with a standard deviation of windUpSD, shares of the backlash:
// about half a micron at 0.15 mm. Practice gives 1 to 5 µm for gear and arm
// under a hard push, most of it before the reading settles.
const (
	windUpMean = 0.003
	windUpSD   = 0.0035
)

// unseenWindUp is the half-width in mm, at each stop, of what gives way too
// quickly or too alike to be seen or differs from the usual. The same hand and
// the same gear make both stops give way by about as much, so the two add.
// Covers springs of up to 3 µm in 0.02 to 0.25 s: common practice, no source.
const unseenWindUp = 0.0022

// contact corrects the mean distance for the creep at the stops. A small one
// is wind-up, taken back to the contact: the fitted size and the usual one are
// weighed by their variances. A large one is an oil film being squeezed out,
// and is followed to its end. Where the hands did not quite dwell, the top of
// the rounded motion is the contact; one passes into the other between one and
// three standard uncertainties of the rounding.
func (p *estimate) contact(w windUp) {
	if w.size > 0.05*p.mean && w.size > 4*w.u && w.round < 0.1*w.size {
		p.film = true
		creep := 2 * w.size * (1 - w.share)
		p.creepU = creep / 2
		p.mean += creep
		return
	}
	round := 0.0
	if w.round > 0.1*w.size && w.roundU > 0 {
		round = math.Max(0, math.Min(1, (w.round/w.roundU-1)/2))
	}
	creep, u := w.taken(p.mean)
	// A parabola's top is 0.9 times as far above its mean as its last sixth is
	// below it, a flatter top less.
	top := 2 * 0.6 * w.round
	p.creepU = math.Hypot((1-round)*u, round*math.Hypot(top/2, windUpSD*p.mean))
	p.mean -= (1-round)*creep - round*top
}

// taken returns the wind-up at both stops together, as far as the levels hold
// it, and its standard uncertainty.
func (w windUp) taken(backlash float64) (creep, u float64) {
	usual, spread := windUpMean*backlash, windUpSD*backlash
	if w.u == 0 { // not enough readings to see it
		w.share, w.u = 0.7, math.Inf(1)
	}
	sure := 1 / (1 + w.u*w.u/(spread*spread))
	size := sure*w.size + (1-sure)*usual
	return 2 * w.share * size, 2 * w.share * math.Hypot(spread*math.Sqrt(1-sure), 0.25*w.size*sure)
}
