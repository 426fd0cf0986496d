package rocking

import (
	"math"

	"crownlog/analysis/internal/dwells"
)

// A total is what sound stops amount to, summed, so that those of hours count that
// are no longer kept one by one.
type total struct {
	rests     int  // sound or not
	strokes   side // their lengths, between adjacent stops
	low, high side
	creep     [dwells.Bins]dwells.Bin // of all stops, outward
}

// A side sums the levels of n stops, or the lengths of strokes; squares are about the
// mean of each group.
type side struct{ n, sum, squares, groups float64 }

// mean is NaN without any.
func (s side) mean() float64 { return s.sum / s.n }

// sd is the standard deviation about the means of the groups, NaN with one of them.
func (s side) sd() float64 { return math.Sqrt(s.squares / max(0, s.n-s.groups)) }

func (s *side) add(o side) {
	s.n += o.n
	s.sum += o.sum
	s.squares += o.squares
	s.groups += o.groups
}

func (t *total) add(o *total) {
	t.rests += o.rests
	t.strokes.add(o.strokes)
	t.low.add(o.low)
	t.high.add(o.high)
	for k, b := range o.creep {
		t.creep[k].Add(b, 1)
	}
}

// rocks is how many there are, there and back.
func (t *total) rocks() int { return int(min(t.low.n, t.high.n)) }

// agrees reports whether the strokes are as long as those of o, to within least.
func (t *total) agrees(o *total, least float64) bool {
	return !(math.Abs(t.strokes.mean()-o.strokes.mean()) > least)
}

// sumOf sums up a group.
func sumOf(v []float64) side {
	s := side{n: float64(len(v)), groups: 1}
	for _, x := range v {
		s.sum += x
	}
	for _, x := range v {
		s.squares += math.Pow(x-s.mean(), 2)
	}
	return s
}

// A past is what of a long trace is no longer kept.
type past struct {
	total
	left int // rests left out: they were refused, or their strokes had another length
}
