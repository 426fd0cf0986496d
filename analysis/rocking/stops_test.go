package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/internal/digit"
	"crownlog/analysis/internal/dwells"
)

// dwelt is a dwell of ten readings at a level.
func dwelt(from, to, level float64) dwells.Dwell {
	return dwells.Dwell{From: from, To: to, Level: level, N: 12, Core: 10, Min: level, Max: level}
}

// judging is a judgement of dwells and turning points.
func judging(rests []dwells.Dwell, turns ...dwells.Turn) *judgement {
	j := &judgement{tr: &dwells.Segmenter{Swing: 0.1}, s: &judgeScratch{}}
	for _, d := range rests {
		j.tr.Dwells.Push(d)
	}
	for _, p := range turns {
		j.tr.Turns.Push(p)
	}
	return j
}

func TestStopsAreTheTurns(t *testing.T) {
	levels := func(stops []stop) (l []float64) {
		for _, c := range stops {
			l = append(l, c.Level)
		}
		return l
	}
	// Two dwells within the tolerance are one stop, one on the way is none.
	j := judging([]dwells.Dwell{dwelt(0, 1, 0), dwelt(1.2, 2, 0.01), dwelt(3, 4, 0.07), dwelt(4.1, 4.5, 0.1), dwelt(5, 6, 0)})
	j.findStops()
	assert.Equal(t, []float64{0, 0.1, 0}, levels(j.s.turns))
	assert.Equal(t, []float64{0.07}, levels(j.s.passed))
	assert.Equal(t, []bool{false, true, false}, []bool{j.s.turns[0].high, j.s.turns[1].high, j.s.turns[2].high})
	assert.Equal(t, [3]float64{0, 2, 1}, [3]float64{j.s.turns[0].From, j.s.turns[0].To, j.s.turns[0].t})
	// The dwell going on counts as the last; a tenth of the swing is near too.
	j.s.open = []dwells.Dwell{dwelt(7, 8, 0.019)}
	j.s.open[0].Core = 11
	j.tr.Swing = 0.2
	j.findStops()
	assert.InDeltaSlice(t, []float64{0, 0.1, 0.019}, levels(j.s.turns), 1e-12, "the longer dwell is the stop")

	// A turning point near the edge of a dwell is the dwell's, another is a stop.
	two := []dwells.Dwell{dwelt(0, 1, 0), dwelt(3, 4, 0)}
	for _, c := range []struct {
		p    dwells.Turn
		want int
	}{
		{dwells.Turn{T: 2, X: 0.1}, 3}, {dwells.Turn{T: 0.5, X: 0.1}, 1}, {dwells.Turn{T: 1, X: 0.1}, 1}, {dwells.Turn{T: 1.07, X: 0.1}, 1}, {dwells.Turn{T: 1.09, X: 0.1}, 3},
		{dwells.Turn{T: 1.09, X: 0.009}, 1}, {dwells.Turn{T: 2.93, X: 0.1}, 1}, {dwells.Turn{T: 2.91, X: 0.1}, 3}, {dwells.Turn{T: 2.91, X: 0.009}, 1}, {dwells.Turn{T: 5, X: 0.1}, 2},
	} {
		j := judging(two, c.p)
		j.findStops()
		assert.Len(t, j.s.turns, c.want, "%+v", c.p)
	}
}

func TestJoinedStops(t *testing.T) {
	a := stop{Dwell: dwells.Dwell{From: 1, To: 2, Level: 1, N: 12, Core: 10, Sumsq: 3, Changes: 2, Min: 0.5, Max: 1.5}, t: 1.5, dwelt: true}
	b := stop{Dwell: dwells.Dwell{From: 3, To: 5, Level: 2, N: 33, Core: 30, Sumsq: 4, Changes: 5, Min: 0.8, Max: 2.5}, t: 4, dwelt: true}
	c := a
	c.join(&b)
	assert.Equal(t, stop{Dwell: dwells.Dwell{From: 1, To: 5, Level: 2, N: 33, Core: 30, Sumsq: 4, Changes: 5, Min: 0.8, Max: 2.5}, t: 3, dwelt: true}, c)
	c = b
	c.join(&a)
	assert.Equal(t, 2.0, c.Level, "the longer is the stop")
	bare := stop{Dwell: dwells.Dwell{Level: 7}, t: 9}
	c = a
	c.join(&bare)
	assert.Equal(t, a, c, "a bare turn adds nothing")
	bare.join(&a)
	assert.Equal(t, a, bare, "and gives way")
}

// nodes are stops of the levels, at which the wheel dwelt.
func nodes(levels ...float64) (l []stop) {
	for i, x := range levels {
		l = append(l, stop{t: float64(i), dwelt: true, Dwell: dwells.Dwell{Level: x}})
	}
	return l
}

func TestUnitFlipOfNodes(t *testing.T) {
	flipped := func(count float64, levels ...float64) bool {
		j := &judgement{course: hypothesis{level: [2]float64{0, 1}}, tr: &dwells.Segmenter{Origin: 2, Grid: digit.Grid{Step: count}}, s: &judgeScratch{values: make([]float64, 0, 99)}}
		j.s.nodes = nodes(levels...)
		return j.unitFlipped()
	}
	then := func(by float64, levels ...float64) []float64 { // readings, which are 2 more
		l := []float64{0, 1, 0, 1}
		for _, x := range levels {
			l = append(l, by*(x+2)-2)
		}
		return l
	}
	assert.True(t, flipped(0.01, then(inch, 0, 1, 0, 1, 0, 1)...))
	assert.True(t, flipped(0.01, then(1/inch, 0, 1, 0, 1, 0, 1)...), "or back")
	assert.False(t, flipped(0.01, then(1, 0, 1, 0, 1)...))
	assert.False(t, flipped(0.01, 0, 1, 0, 1, 0, inch, 0, inch), "the swing grew, the zero did not")
	assert.False(t, flipped(0.01, 0, 1, 0, 1, 4, 5, 4, 5), "bumped")
	assert.False(t, flipped(0.01, 0, 1, 0, 1, -2.1, -1.1, -2.1, -1.1), "zero pressed")
	assert.False(t, flipped(0.01, 0, 1, 0, 1, 50, 0, 1, 0, 1), "lifted")
	assert.False(t, flipped(0.5, then(inch, 0, 1, 0, 1, 0, 1)...), "two counts may be flicker")
	assert.True(t, flipped(0.35, then(inch, 0, 1, 0, 1, 0, 1)...))
}

func TestHalves(t *testing.T) {
	low, high := halves(append(make([]float64, 0, 20), 1, 9, 2, 8, 3, 0))
	assert.Equal(t, [2]float64{1.5, 8.5}, [2]float64{low, high})
}

func TestFarShift(t *testing.T) {
	far := func(step, level, origin float64) bool {
		j := &judgement{swing: 0.15, tr: &dwells.Segmenter{Origin: origin}}
		return j.farShift(&hypothesis{size: step, level: [2]float64{level, level + 0.15}})
	}
	assert.False(t, far(1.1, 0, 0), "less than eight swings")
	assert.True(t, far(1.3, 0, 0))
	assert.True(t, far(-1.3, 0, 0))
	assert.False(t, far(1.3, 0, -1.2), "about zero now: pressed")
	assert.False(t, (&judgement{swing: 0.1, tr: &dwells.Segmenter{}}).farShift(&hypothesis{size: 0.9}), "a bump moves it by a millimetre at most")
}

// Steps and drifts of levels without scatter, at a swing of 0.15 mm.
func TestNamedSteps(t *testing.T) {
	name := func(high, low []float64) ([]analysis.Fault, bool) {
		j := &judgement{swing: 0.15, tr: &dwells.Segmenter{Resolution: 0.0001}, s: &judgeScratch{values: make([]float64, 0, 999)}}
		for i := range high {
			j.s.turns = append(j.s.turns, stop{t: float64(2 * i), dwelt: true, high: true, Dwell: dwells.Dwell{Level: 0.15 + high[i]}},
				stop{t: float64(2*i + 1), dwelt: true, Dwell: dwells.Dwell{Level: low[i]}})
		}
		j.s.split()
		j.explain()
		return j.faults.list(), j.refuse
	}
	for _, c := range []struct {
		high, low []float64
		want      []analysis.Fault
		refused   bool
	}{
		{[]float64{0, 0, 0, 0, 0, 0}, []float64{0, 0, 0, 0, 0, 0}, nil, false},
		{[]float64{0, 0, 0, 0.05, 0.05, 0.05}, []float64{0, 0, 0, 0.05, 0.05, 0.05}, []analysis.Fault{analysis.ZeroShift}, true},
		{[]float64{0, 0.03, 0, 0.03, 0, 0.03}, []float64{0, 0, 0, 0, 0, 0}, []analysis.Fault{analysis.EndFloat}, true},
		{[]float64{0, 0, 0, 0.05, 0.05, 0.05}, []float64{0, 0, 0, 0, 0, 0}, []analysis.Fault{analysis.PinionSlip}, true},
		{[]float64{0, 0, 0, 0, 0, 0}, []float64{0, 0, 0, -0.05, -0.05, -0.05}, []analysis.Fault{analysis.PinionSlip}, true},
		{[]float64{0, 0, 0, 0, 0, 0}, []float64{0, 0, 0, -0.25, -0.25, -0.25}, nil, false},
		{[]float64{0, 0, 0, 3, 3, 3}, []float64{0, 0, 0, 3, 3, 3}, []analysis.Fault{analysis.OffGear}, true},
		{[]float64{0, 0, 0, 0.002, 0.002, 0.002}, []float64{0, 0, 0, 0.002, 0.002, 0.002}, nil, false},
		{[]float64{0, 0.02, 0.04, 0.06, 0.08, 0.10}, []float64{0.01, 0.03, 0.05, 0.07, 0.09, 0.11}, []analysis.Fault{analysis.BaseCreep}, false},
		{[]float64{0, 0.05, 0.1, 0.15, 0.2, 0.25}, []float64{0.025, 0.075, 0.125, 0.175, 0.225, 0.275}, []analysis.Fault{analysis.BaseCreep}, true},
		{[]float64{0, 0.02, 0.04, 0.06, 0.08, 0.10}, []float64{0, 0, 0, 0, 0, 0}, []analysis.Fault{analysis.PinionSlip}, true},
	} {
		faults, refused := name(c.high, c.low)
		assert.Equal(t, c.want, faults, "%v %v", c.high, c.low)
		assert.Equal(t, c.refused, refused, "%v %v", c.high, c.low)
	}
}

// Worked by hand: a half cycle of 1 s, dwells of 0.8 s that bend by a quarter of the
// swing, in which a sine spends two thirds of it.
func TestDwellShare(t *testing.T) {
	s := &judgeScratch{}
	bend := func(b float64) {
		for i := range s.turns {
			s.turns[i].Bend = b
			if i%2 == 1 {
				s.turns[i].Bend = -b
			}
		}
	}
	for i := range 5 {
		s.turns = append(s.turns, stop{t: float64(i), dwelt: true, high: i%2 == 1, Dwell: dwells.Dwell{N: 3, From: float64(i) - 0.4, To: float64(i) + 0.4, Level: float64(i % 2)}})
	}
	bend(0.25)
	assert.InDelta(t, 0.4, s.dwellShare(0), 1e-12)
	bend(0.25 * 64 / 81)
	assert.InDelta(t, 0.7, s.dwellShare(0.1), 1e-12, "and the interval after its last reading, which bends on")
	assert.True(t, math.IsNaN((&judgeScratch{turns: s.turns[:4]}).dwellShare(0)), "two tell nothing")
	bend(-0.25)
	assert.InDelta(t, 0.8, s.dwellShare(0), 1e-12, "outward at its ends it is no top of a motion")
	bend(1)
	assert.Zero(t, s.dwellShare(0), "too wide to tell")
	bend(0)
	assert.InDelta(t, 0.8, s.dwellShare(0), 1e-12)
	for i := range s.turns {
		s.turns[i].N = 2
	}
	assert.Zero(t, s.dwellShare(0), "two readings may lie on either side of a turn")
}
