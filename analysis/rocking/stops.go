package rocking

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

// findStops lists the places where the motion turned round, oldest first,
// alternating between high and low, in s.turns; rests passed without turning
// round are in s.passed. open, if not nil, is the rest going on now.
func (j *judgement) findStops(open *rest) {
	s := j.s
	near := math.Max(j.tr.tol, 0.1*j.tr.swing)
	s.turns, s.passed = s.turns[:0], s.passed[:0]
	j.listNodes(open, near)
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
func (j *judgement) listNodes(open *rest, near float64) {
	s := j.s
	s.nodes = s.nodes[:0]
	k, turns := 0, j.tr.turns.len()
	count := j.tr.rests.len()
	if open != nil {
		count++
	}
	for i := range count {
		d := open
		if i < j.tr.rests.len() {
			d = j.tr.rests.at(i)
		}
		for k < turns && j.tr.turns.at(k).t < d.from {
			j.addTurn(k, near, d)
			k++
		}
		s.nodes = append(s.nodes, stop{rest: *d, t: (d.from + d.to) / 2, rested: true})
		for k < turns && j.tr.turns.at(k).t <= d.to {
			k++
		}
	}
	for ; k < turns; k++ {
		j.addTurn(k, near, nil)
	}
}

// addTurn lists turning point k unless it is the edge of the rest before or
// after it.
func (j *judgement) addTurn(k int, near float64, next *rest) {
	s := j.s
	const edge = 0.15 // s
	p := j.tr.turns.at(k)
	slack := math.Max(edge, 1.5*j.tr.interval)
	if next != nil && next.from-p.t < slack && math.Abs(next.level-p.x) < 1.5*near {
		return
	}
	if i := len(s.nodes) - 1; i >= 0 && s.nodes[i].rested {
		if b := &s.nodes[i]; p.t-b.to < slack && math.Abs(b.level-p.x) < 1.5*near {
			return
		}
	}
	if j.tr.rests.lost > 0 && p.t < j.tr.rests.at(0).from {
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
