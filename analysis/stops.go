package analysis

import "math"

// A stop is a place where the motion turned round: a rest, or a bare turning
// point where the wheel came back at once. Values are relative to the first
// reading of the trace.
type stop struct {
	rest
	t      float64 // middle of the rest, or time of the turn
	rested bool
	high   bool
	aside  bool // left out of the value
}

// judgeScratch is room for judging, so that the live path does not allocate.
type judgeScratch struct {
	nodes, turns, passed []stop
	high, low            series
	values               []float64
}

func (s *judgeScratch) init() {
	const room = restCap + turnCap + 2
	s.nodes = make([]stop, 0, room)
	s.turns = make([]stop, 0, room)
	s.passed = make([]stop, 0, room)
	s.values = make([]float64, 0, 4*room)
	s.high.init(room)
	s.low.init(room)
}

// findStops lists the places where the motion turned round, oldest first,
// alternating between high and low, in s.turns; rests passed without turning
// round are in s.passed. open, if not nil, is the rest going on now.
func (r *Rocking) findStops(open *rest) {
	s := &r.scratch
	near := math.Max(r.tol, 0.1*r.swing)
	s.turns, s.passed = s.turns[:0], s.passed[:0]
	r.listNodes(open, near)
	for _, c := range s.nodes {
		s.turns = append(s.turns, c)
		s.reduce(near)
	}
	for i := range s.turns {
		switch {
		case i > 0:
			s.turns[i].high = s.turns[i].level > s.turns[i-1].level
		case len(s.turns) > 1:
			s.turns[i].high = s.turns[i].level > s.turns[1].level
		}
	}
}

// listNodes merges rests and turning points by time into s.nodes. A turning
// point that belongs to a rest is left out.
func (r *Rocking) listNodes(open *rest, near float64) {
	s := &r.scratch
	s.nodes = s.nodes[:0]
	k, turns := 0, r.turns.len()
	count := r.rests.len()
	if open != nil {
		count++
	}
	for i := range count {
		d := open
		if i < r.rests.len() {
			d = r.rests.at(i)
		}
		for k < turns && r.turns.at(k).t < d.from {
			r.addTurn(k, near, d)
			k++
		}
		s.nodes = append(s.nodes, stop{rest: *d, t: (d.from + d.to) / 2, rested: true})
		for k < turns && r.turns.at(k).t <= d.to {
			k++
		}
	}
	for ; k < turns; k++ {
		r.addTurn(k, near, nil)
	}
}

// addTurn lists turning point k unless it is the edge of the rest before or
// after it.
func (r *Rocking) addTurn(k int, near float64, next *rest) {
	s := &r.scratch
	const edge = 0.15 // s
	p := r.turns.at(k)
	slack := math.Max(edge, 1.5*r.interval)
	if next != nil && next.from-p.t < slack && math.Abs(next.level-p.x) < 1.5*near {
		return
	}
	if i := len(s.nodes) - 1; i >= 0 && s.nodes[i].rested {
		if b := &s.nodes[i]; p.t-b.to < slack && math.Abs(b.level-p.x) < 1.5*near {
			return
		}
	}
	if r.rests.lost > 0 && p.t < r.rests.at(0).from {
		return
	}
	s.nodes = append(s.nodes, stop{rest: rest{from: p.t, to: p.t, level: p.x}, t: p.t})
}

// reduce keeps s.turns a list of places where the motion turned round after
// one more node was appended: neighbours at the same level become one, and a
// node on the way from one level to another leaves the list.
func (s *judgeScratch) reduce(near float64) {
	for {
		n := len(s.turns)
		if n >= 2 && math.Abs(s.turns[n-1].level-s.turns[n-2].level) <= near {
			s.turns[n-2].join(&s.turns[n-1])
			s.turns = s.turns[:n-1]
			continue
		}
		if n >= 3 {
			a, b, c := &s.turns[n-3], &s.turns[n-2], &s.turns[n-1]
			if (b.level-a.level)*(c.level-b.level) > 0 {
				if b.rested {
					s.passed = append(s.passed, *b)
				}
				s.turns[n-2] = *c
				s.turns = s.turns[:n-1]
				continue
			}
		}
		return
	}
}

// join takes b, the next node at about the same level, into a.
func (a *stop) join(b *stop) {
	switch {
	case !b.rested:
		return
	case !a.rested:
		*a = *b
		return
	}
	n := float64(a.core + b.core)
	level := (a.level*float64(a.core) + b.level*float64(b.core)) / n
	da, db := a.level-level, b.level-level
	a.sumsq += b.sumsq + da*da*float64(a.core) + db*db*float64(b.core)
	a.level = level
	a.core += b.core
	a.n += b.n
	a.changes += b.changes
	a.min, a.max = math.Min(a.min, b.min), math.Max(a.max, b.max)
	a.to = b.to
	a.t = (a.from + a.to) / 2
	a.gapLength = math.Max(a.gapLength, b.gapLength)
}

// typicalSwing returns the median distance between neighbouring stops; 0 with
// fewer than two.
func (s *judgeScratch) typicalSwing() float64 {
	v := s.values[:0]
	for i := 1; i < len(s.turns); i++ {
		v = append(v, math.Abs(s.turns[i].level-s.turns[i-1].level))
	}
	if len(v) == 0 {
		return 0
	}
	return medianInPlace(v)
}

// halfCycle returns the median time between neighbouring stops; 0 with fewer
// than two.
func (s *judgeScratch) halfCycle() float64 {
	v := s.values[:0]
	for i := 1; i < len(s.turns); i++ {
		v = append(v, s.turns[i].t-s.turns[i-1].t)
	}
	if len(v) == 0 {
		return 0
	}
	return medianInPlace(v)
}

// restShare returns the median share of a half cycle that the wheel spent at
// rest, cleared of the time that a cosine-shaped motion of the same swing
// spends within the range of the rest:
//
//	f = length of the rest / half cycle
//	f0 = 2/π · acos(1 - 2·range/swing)   of a pure sine
//	share = (f - f0) / (1 - f0)
//
// A sine has a share of 0, straight ramps less. It returns NaN where the
// range is too large a part of the swing to tell.
//
// Readings that scatter by more than half a count widen the range by more.
func (s *judgeScratch) restShare(interval, count float64) float64 {
	v := s.values[:0]
	for i := 1; i+1 < len(s.turns); i++ {
		c := &s.turns[i]
		if !c.rested {
			continue
		}
		half := (s.turns[i+1].t - s.turns[i-1].t) / 2
		swing := (math.Abs(s.turns[i+1].level-c.level) + math.Abs(s.turns[i-1].level-c.level)) / 2
		q := c.span / swing
		if c.n >= noisyN {
			scatter := 2 * c.noise
			if c.noise > count/2 {
				scatter = 3.5 * c.noise
			}
			q = math.Max(0, c.span-scatter) / swing
		}
		if q > 0.35 || half <= 0 {
			continue
		}
		f0 := 2 / math.Pi * math.Acos(1-2*q)
		f := math.Min(1, (c.to-c.from+interval)/half)
		v = append(v, (f-f0)/(1-f0))
	}
	if len(v) < 3 {
		return math.NaN()
	}
	return medianInPlace(v)
}
