package rocking

import (
	"math"
	"slices"

	"crownlog/analysis/internal/dwells"
)

// A stop is a place where the motion turned round: a dwell, or a bare turning
// point where the wheel came back at once. Values are relative to the first
// reading of the trace.
type stop struct {
	dwells.Dwell
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

// width is the range of the levels.
func (s series) width() float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range s {
		lo, hi = min(lo, c.Level), max(hi, c.Level)
	}
	return hi - lo
}

// parted reports whether two of the stops at least are before the time and two
// after it.
func (s series) parted(t float64) bool { return len(s) > 2 && s[1].t <= t && s[len(s)-2].t > t }

// halves returns the level that parts the stops where they are furthest apart.
// Two at least and one in three are on either side: fewer are partial rocks.
func (s series) halves(room []float64) (at float64, ok bool) {
	v := room[:0]
	for _, c := range s {
		v = append(v, c.Level)
	}
	slices.Sort(v)
	var gap float64
	for k := 2; k <= len(v)-2; k++ {
		if minRocks*min(k, len(v)-k) >= len(v) && v[k]-v[k-1] > gap {
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
	near := j.tr.Near() // levels nearer than that are one
	s.turns, s.passed = s.turns[:0], s.passed[:0]
	j.listNodes()
	for _, c := range s.nodes {
		s.turns = append(s.turns, c)
		s.reduce(near)
	}
	for i := 1; i < len(s.turns); i++ {
		s.turns[i].high = s.turns[i].Level > s.turns[i-1].Level
		s.turns[0].high = !s.turns[1].high
	}
}

// listNodes merges dwells and turning points by time into s.nodes. A turning point
// within a dwell, or a moment before or after it, belongs to the dwell.
func (j *judgement) listNodes() {
	s := j.s
	s.nodes = s.nodes[:0]
	s.dwells = append(append(s.dwells[:0], j.tr.Dwells.List()...), s.open...)
	turns := j.tr.Turns.List()
	bare := func(before float64) {
		for ; len(turns) > 0 && turns[0].T < before; turns = turns[1:] {
			s.nodes = append(s.nodes, stop{Dwell: dwells.Dwell{From: turns[0].T, To: turns[0].T, Level: turns[0].X}, t: turns[0].T})
		}
	}
	for i := range s.dwells {
		d := &s.dwells[i]
		bare(d.From - dwells.Moment)
		s.nodes = append(s.nodes, stop{Dwell: *d, t: (d.From + d.To) / 2, dwelt: true})
		for len(turns) > 0 && turns[0].T <= d.To+dwells.Moment {
			turns = turns[1:]
		}
	}
	bare(math.Inf(1))
}

// reduce keeps s.turns a list of places where the motion turned round after
// one more node was appended: neighbours at the same level become one, and a
// node on the way from one level to another leaves the list.
func (s *judgeScratch) reduce(near float64) {
	for last := len(s.turns) - 1; last > 0; last-- {
		a, b, c := &s.turns[max(last-2, 0)], &s.turns[last-1], &s.turns[last]
		switch {
		case math.Abs(c.Level-b.Level) <= near:
			b.join(c)
		case (b.Level-a.Level)*(c.Level-b.Level) > 0:
			if b.dwelt {
				s.passed = append(s.passed, *b)
				a.Left[1], c.Came[1] = b.Level, b.Level // if it was nudged there
			}
			*b = *c
		default:
			return
		}
		s.turns = s.turns[:last]
	}
}

// join takes b, the next node at about the same level, into a: the longer dwell is
// the stop.
func (a *stop) join(b *stop) {
	if !b.dwelt {
		return
	}
	both := *b
	if a.dwelt {
		if a.Core >= b.Core {
			both = *a
		}
		both.From, both.Came, both.To, both.Left = a.From, a.Came, b.To, b.Left
		both.t = (both.From + both.To) / 2
	}
	*a = both
}
