package rocking

import "math"

// A stop is a place where the motion turned round: a dwell, or a bare turning
// point where the wheel came back at once. Values are relative to the first
// reading of the trace.
type stop struct {
	dwell
	t       float64 // middle of the dwell, or time of the turn
	dwelt   bool
	high    bool
	outlier bool // left out of the value
}

// outward turns a difference at the stop over where up is inward: more than 0 is
// then beyond the stop.
func (a *stop) outward(d float64) float64 {
	if a.high {
		return d
	}
	return -d
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
func (s series) parted(t float64) bool { return len(s) >= 4 && s[1].t <= t && s[len(s)-2].t > t }

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

// findStops lists the places where the motion turned round, oldest first,
// alternating between high and low, in s.turns; dwells passed without turning
// round are in s.passed.
func (j *judgement) findStops() {
	s := j.s
	near := j.tr.near() // levels nearer than that are one
	s.turns, s.passed = s.turns[:0], s.passed[:0]
	j.listNodes(near)
	for _, c := range s.nodes {
		s.turns = append(s.turns, c)
		s.reduce(near)
	}
	for i := 1; i < len(s.turns); i++ {
		s.turns[i].high = s.turns[i].level > s.turns[i-1].level
		s.turns[0].high = !s.turns[1].high
	}
}

// listNodes merges dwells and turning points by time into s.nodes. A turning
// point that belongs to a dwell is left out.
func (j *judgement) listNodes(near float64) {
	s := j.s
	s.nodes = s.nodes[:0]
	turns := j.tr.turns.list()
	dwells := append(append(s.dwells[:0], j.tr.dwells.list()...), s.open...)
	for i := range dwells {
		d := &dwells[i]
		for len(turns) > 0 && turns[0].t < d.from {
			j.addTurn(turns[0], near, d)
			turns = turns[1:]
		}
		s.nodes = append(s.nodes, stop{dwell: *d, t: (d.from + d.to) / 2, dwelt: true})
		for len(turns) > 0 && turns[0].t <= d.to {
			turns = turns[1:]
		}
	}
	for _, p := range turns {
		j.addTurn(p, near, nil)
	}
	s.dwells = dwells
}

// edge is what a hand takes in s to come to a stand or to leave it: a guess, no source.
const edge = 0.15

// addTurn lists a turning point unless it is the edge of the dwell before or
// after it.
func (j *judgement) addTurn(p turn, near float64, next *dwell) {
	s := j.s
	last := len(s.nodes) - 1
	switch {
	case next != nil && next.from-p.t < edge && math.Abs(next.level-p.x) < 1.5*near,
		last >= 0 && s.nodes[last].dwelt && p.t-s.nodes[last].to < edge && math.Abs(s.nodes[last].level-p.x) < 1.5*near,
		j.tr.dwells.lost > 0 && p.t < j.tr.dwells.all[0].from: // its dwell is forgotten
		return
	}
	s.nodes = append(s.nodes, stop{dwell: dwell{from: p.t, to: p.t, level: p.x}, t: p.t})
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
				if b.dwelt {
					s.passed = append(s.passed, *b)
					if math.Abs(b.level-a.level) < math.Abs(b.level-c.level) {
						a.left[1] = b.level
					} else {
						c.came[1] = b.level
					}
				}
				s.turns[n-2] = *c
				s.turns = s.turns[:n-1]
				continue
			}
		}
		return
	}
}

// join takes b, the next node at about the same level, into a: the longer dwell is
// the stop.
func (a *stop) join(b *stop) {
	from, came := a.from, a.came
	switch {
	case !b.dwelt:
		return
	case !a.dwelt:
		*a = *b
		return
	case b.core > a.core:
		*a = *b
		a.came = came
	}
	a.from, a.to, a.left = from, b.to, b.left
	a.t = (a.from + a.to) / 2
}
