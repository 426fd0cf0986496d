package analysis

import "math"

// lookForClipping looks for a stop that is perfectly flat and identical every
// time while the other one shows the noise of the gauge: the plunger at the
// end of its travel. It speaks only when a sound stop would hardly ever look
// like that, even one in the middle of a count.
func (r *Rocking) lookForClipping(j *judgement) {
	s := &r.scratch
	if len(s.high.y) < 3 || len(s.low.y) < 3 {
		return
	}
	for _, pair := range [][2]*series{{&s.high, &s.low}, {&s.low, &s.high}} {
		flat, other := pair[0], pair[1]
		sigma := r.sideNoise(other)
		n, same := r.identical(flat, sigma > r.count()/2)
		if !same || n < 9 {
			continue
		}
		if sigma == 0 {
			sigma = r.edgeNoise(other)
		}
		j.flat = j.flat || r.shows(other)
		if sigma == 0 {
			continue
		}
		p := math.Erf(r.count() / (2 * math.Sqrt2 * sigma)) // one reading of a sound stop on the modal count
		if float64(n)*math.Log(p) < math.Log(1e-4) {
			j.faults.add(EndOfTravel)
			j.refuse = true
		}
	}
}

// shows reports whether readings within most rests at the stop differ.
func (r *Rocking) shows(side *series) bool {
	moving := 0
	for _, i := range side.at {
		if c := &r.scratch.turns[i]; c.max > c.min {
			moving++
		}
	}
	return 2*moving > len(side.at)
}

// identical returns the number of settled readings at the stop and whether
// they were the same, nearly so but for a few of the motion's edge.
func (r *Rocking) identical(side *series, nearly bool) (n int, same bool) {
	lo, hi, changes := math.Inf(1), math.Inf(-1), 0
	for _, i := range side.at {
		c := &r.scratch.turns[i]
		if c.aside {
			continue
		}
		lo, hi = math.Min(lo, c.min), math.Max(hi, c.max)
		n += c.core
		changes += c.changes
	}
	if hi-lo <= 1e-9*math.Abs(hi) {
		return n, n > 0
	}
	return n, nearly && hi-lo < 1.01*r.count() && 33*changes < n
}

// movingShare returns the share of rests at the stop whose readings span more
// than two counts, which prove nothing: a still reading on the edge shows them.
func (r *Rocking) movingShare(side *series) float64 {
	moving := 0
	for _, i := range side.at {
		if c := &r.scratch.turns[i]; !c.aside && c.max-c.min > 1.5*r.count() {
			moving++
		}
	}
	return float64(moving) / math.Max(1, float64(len(side.at)))
}

// sideNoise returns the deviation of the readings within the rests at a stop;
// 0 where it is not known.
func (r *Rocking) sideNoise(side *series) float64 {
	sum, n := 0.0, 0
	for _, i := range side.at {
		if c := &r.scratch.turns[i]; !c.aside {
			sum += c.sumsq
			n += c.core - 1
		}
	}
	if n < 3 || r.movingShare(side) < 1.0/3 {
		return 0
	}
	return undither(sum/float64(n), r.count())
}

// edgeNoise is sideNoise for a stop whose readings show two counts only. Noise
// moves them to and fro at random in every rest alike; a still reading on the
// edge between the counts hardly ever does that.
func (r *Rocking) edgeNoise(side *series) float64 {
	s := &r.scratch
	q := r.count()
	sum, n, rests, alike := 0.0, 0.0, 0, 0
	for _, i := range side.at {
		c := &s.turns[i]
		if c.aside || c.core < 5 {
			continue
		}
		rests++
		v := c.sumsq / float64(c.core)
		sum += c.sumsq
		n += float64(c.core)
		// white noise changes the count 2·v/q² of the time
		if v > 0.12*q*q && float64(c.changes) > 1.3*v/(q*q)*float64(c.core) {
			alike++
		}
	}
	if q == 0 || rests < 5 || alike < rests {
		return 0
	}
	return undither(sum/n, q)
}
