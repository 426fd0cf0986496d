package rocking

import (
	"cmp"
	"math"

	"crownlog/analysis/internal/stat"
)

// estimate is what the sound stops amount to, as read.
type estimate struct {
	n         int
	mean      float64 // distance between adjacent stops
	high, low sideMean
	creepU    float64 // standard uncertainty of what was creep at the stops, taken out
	taken     float64 // what was taken off for it
	push      float64 // half-width of the doubt of what gives way unseen at both stops together
	lags      bool    // the gauge lags, as far as can be told
	late      bool    // the gauge lags too much for so short dwells
	film      bool    // the contact may be where the creep ends
}

// A sideMean is the mean level of the stops in use on one side.
type sideMean struct {
	n        int
	mean, sd float64 // NaN without stops, sd with one
}

// estimate takes the mean distance of adjacent sound stops, each level first
// brought to the middle of the trace by the creep of the base. push is as in Options.
func (j *judgement) estimate(push float64) estimate {
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
	if j.nudged { // the levels of either side are told from one of the other
		half := (p.high.mean - p.low.mean) / 2
		p.high.mean, p.low.mean = j.centre+half, j.centre-half
	}
	w := s.approach(j.readingNoise(), j.swing, j.tr.interval)
	p.push = cmp.Or(push, 2*w.unseen)
	p.contact(w)
	return p
}

// readingNoise is the deviation of a reading within a dwell, the approach left
// out. Digits that stand still tell one thing in a slot, however many they are.
func (j *judgement) readingNoise() float64 {
	v := j.s.values[:0]
	n, slotted := 0.0, 0.0
	for c := range j.s.dwelt.used {
		v = append(v, c.noise)
		for _, k := range c.creep {
			if k.n > 0 {
				n += k.n
				slotted++
			}
		}
	}
	noise, digit := medianInPlace(v), j.tr.count()/math.Sqrt(12)
	if noise < digit {
		digit *= math.Sqrt(math.Max(1, n/slotted))
	}
	return math.Hypot(noise, digit)
}

// use sums up the stops in use, their levels as told.
func (s series) use(level func(*stop) float64, room []float64) sideMean {
	v := room[:0]
	for c := range s.used {
		v = append(v, level(c))
	}
	return sideMean{len(v), stat.Mean(v), stat.StdDev(v)}
}

// contact brings the mean distance to the contacts of the wheel, as far as the
// approach tells where they are. Where the hands did not quite dwell, the top of
// the rounded motion is the contact; one passes into the other between two and
// four standard uncertainties of the rounding.
func (p *estimate) contact(w approach) {
	backlash := p.mean
	spread := windUpSD * backlash
	if w.u == 0 { // not enough readings to see it
		w.share, w.tau, w.u = 0.7, 0.15, math.Inf(1)
	}
	// One that stands out of the noise is no usual wind-up.
	sure := max(1/(1+w.u*w.u/(spread*spread)), ramp(w.size/w.u, 3, 5), w.lag)
	end := w.lag + (1-w.lag)*w.filming(backlash) // that the contact is where the reading ends
	size := 2 * (sure*w.size + (1-sure)*windUpMean*backlash)
	come, gone := size*(1-w.share), size*w.share
	come *= 1 + 0.6*w.lag // the wheel leaves before the fit has seen all of a lag: by models of 0.15 to 0.5 s
	moved := end*come - (1-end)*gone
	// The size is fitted to a quarter, by the models of hands; evenly doubtful, the
	// two ends of an approach lie 0.6 of it off their middle, which twice covers.
	u := math.Hypot(2*spread*math.Sqrt(1-sure), 0.25*moved*sure)
	u = math.Hypot(u, 1.2*size*math.Sqrt(end*(1-end)))
	u = math.Hypot(u, 0.7*w.slow*w.size)
	u = math.Hypot(u, 0.7*w.lag*come) // and anything from a third to twice of that
	// A hundredth of the stroke is what a dwell may leave unread: a micron or two.
	p.late = w.lag > 0.5 && w.left > 0.01
	p.lags = w.lag > 0.5 || w.slow > 0.5
	p.film = !p.late && w.lag < 0.5 && end > 0.25 && w.tau >= 0.1 && w.size > 3*w.u

	round := 0.0
	if w.round > 0.1*w.size && w.roundU > 0 {
		round = (1 - w.lag) * ramp(w.round/w.roundU, 2, 4)
	}
	// A parabola's top is 0.9 times as far above its mean as its last sixth is
	// below it, a flatter top less.
	top := 2 * 0.6 * w.round
	p.creepU = math.Hypot((1-round)*u, round*math.Hypot(top/2, spread))
	p.taken = -(1-round)*moved - round*top + 2*unseenMean*backlash
	p.mean -= p.taken
}
