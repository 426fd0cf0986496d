package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// dwelt is a dwell of ten readings at a level.
func dwelt(from, to, level float64) dwell {
	return dwell{from: from, to: to, level: level, n: 12, core: 10, min: level, max: level}
}

// judging is a judgement of dwells and turning points.
func judging(dwells []dwell, turns ...turn) *judgement {
	j := &judgement{tr: &segmenter{tol: 0.01}, s: &judgeScratch{}}
	j.s.init()
	for _, d := range dwells {
		j.tr.dwells.push(d)
	}
	for _, p := range turns {
		j.tr.turns.push(p)
	}
	return j
}

func TestStopsAreTheTurns(t *testing.T) {
	levels := func(stops []stop) (l []float64) {
		for _, c := range stops {
			l = append(l, c.level)
		}
		return l
	}
	// Two dwells within the tolerance are one stop, one on the way is none.
	j := judging([]dwell{dwelt(0, 1, 0), dwelt(1.2, 2, 0.01), dwelt(3, 4, 0.07), dwelt(4.1, 4.5, 0.1), dwelt(5, 6, 0)})
	j.findStops(nil)
	assert.Equal(t, []float64{0.005, 0.1, 0}, levels(j.s.turns))
	assert.Equal(t, []float64{0.07}, levels(j.s.passed))
	assert.Equal(t, []bool{false, true, false}, []bool{j.s.turns[0].high, j.s.turns[1].high, j.s.turns[2].high})
	assert.Equal(t, [3]float64{0, 2, 1}, [3]float64{j.s.turns[0].from, j.s.turns[0].to, j.s.turns[0].t})
	// The dwell going on counts as the last; a tenth of the swing is near too.
	open := dwelt(7, 8, 0.019)
	j.tr.swing = 0.2
	j.findStops(&open)
	assert.InDeltaSlice(t, []float64{0.005, 0.1, 0.0095}, levels(j.s.turns), 1e-12)

	// A turning point near the edge of a dwell is the dwell's, another is a stop.
	two := []dwell{dwelt(0, 1, 0), dwelt(3, 4, 0)}
	for _, c := range []struct {
		p    turn
		want int
	}{
		{turn{t: 2, x: 0.1}, 3}, {turn{t: 0.5, x: 0.1}, 1}, {turn{t: 1, x: 0.1}, 1}, {turn{t: 1.1, x: 0.014}, 1}, {turn{t: 1.1, x: 0.016}, 3},
		{turn{t: 1.2, x: 0.014}, 3}, {turn{t: 2.9, x: 0.014}, 1}, {turn{t: 2.9, x: 0.016}, 3}, {turn{t: 2.8, x: 0.014}, 3}, {turn{t: 5, x: 0.1}, 2},
	} {
		j := judging(two, c.p)
		j.findStops(nil)
		assert.Len(t, j.s.turns, c.want, "%+v", c.p)
	}
	slow := judging(two, turn{t: 1.2, x: 0.014})
	slow.tr.interval = 0.2
	slow.findStops(nil)
	assert.Len(t, slow.s.turns, 1, "three tenths of a second are the edge for a gauge of five readings a second")
}

func TestJoinedStops(t *testing.T) {
	a := stop{dwell: dwell{from: 1, to: 2, level: 1, n: 12, core: 10, sumsq: 3, changes: 2, min: 0.5, max: 1.5}, t: 1.5, dwelt: true}
	b := stop{dwell: dwell{from: 3, to: 5, level: 2, n: 33, core: 30, sumsq: 4, changes: 5, min: 0.8, max: 2.5}, t: 4, dwelt: true}
	c := a
	c.join(&b)
	assert.Equal(t, stop{dwell: dwell{from: 1, to: 5, level: 1.75, n: 45, core: 40, sumsq: 3 + 4 + 10*0.5625 + 30*0.0625, changes: 7, min: 0.5, max: 2.5}, t: 3, dwelt: true}, c)
	bare := stop{dwell: dwell{level: 7}, t: 9}
	c = a
	c.join(&bare)
	assert.Equal(t, a, c, "a bare turn adds nothing")
	bare.join(&a)
	assert.Equal(t, a, bare, "and gives way")
}

// nodes are stops of the levels, at which the wheel dwelt.
func nodes(levels ...float64) (l []stop) {
	for i, x := range levels {
		l = append(l, stop{t: float64(i), dwelt: true, dwell: dwell{level: x}})
	}
	return l
}

func TestUnitFlipOfNodes(t *testing.T) {
	assert.True(t, weaves(nodes(0, 1, 0, 1), 0.5))
	assert.False(t, weaves(nodes(0, 1, 1, 1, 1), 0.5), "three in four stay where they are")
	assert.True(t, weaves(nodes(0, 1, 1), 0.5), "one of two")
	assert.False(t, weaves(nodes(0, 0.1, 0), 0.5))
	bare := nodes(0, 1, 0)
	for i := range bare {
		bare[i].dwelt = false
	}
	assert.True(t, weaves(bare, 0.5))
	assert.False(t, weaves(bare[:2], 0.5), "bare turns must go and come back")

	assert.True(t, apart(nodes(0, 1), nodes(4, -3)))
	assert.False(t, apart(nodes(0, 1), nodes(3.9)))
	assert.False(t, apart(nodes(0, 1), nodes(9, -2.9)))

	s := &judgeScratch{}
	high, low, n := s.levels(nodes(0, 1, 0.1, 1.2, 0.2, 1.1, 0.3))
	assert.InDeltaSlice(t, []float64{1.1, 0.15, 3}, []float64{high, low, float64(n)}, 1e-12)
	mixed := append(nodes(0, 1, 0), stop{dwell: dwell{level: 50}})
	high, _, _ = s.levels(mixed)
	assert.Equal(t, 1.0, high, "three dwells are enough to leave bare turns out")
	high, _, _ = s.levels(mixed[1:])
	assert.Equal(t, 50.0, high, "two are not")

	flipped := func(earlier, later []stop) bool {
		return (&judgement{tr: &segmenter{origin: 2}, s: s}).scaled(earlier, later)
	}
	scaled := func(by float64, levels ...float64) []stop { // of readings, which are 2 more
		for i := range levels {
			levels[i] = by*(levels[i]+2) - 2
		}
		return nodes(levels...)
	}
	before := nodes(0, 1, 0, 1)
	assert.True(t, flipped(before, scaled(inch, 0, 1, 0, 1)))
	assert.True(t, flipped(scaled(inch, 0, 1, 0, 1), before), "or back")
	assert.True(t, flipped(before, scaled(inch, 0, 1.15, 0, 1.15)), "medians may scatter")
	assert.False(t, flipped(before, scaled(inch, 0, 1.25, 0, 1.25)))
	assert.False(t, flipped(before[:2], scaled(inch, 0, 1.03)), "single levels may not")
	assert.True(t, flipped(before[:2], scaled(inch, 0, 1.01)))
	assert.False(t, flipped(before, nodes(0, inch, 0, inch)), "the swing grew, the zero did not")
	coarse := &judgement{tr: &segmenter{origin: 2, grid: grid{step: 0.5}}, s: s}
	assert.False(t, coarse.scaled(before, scaled(inch, 0, 1, 0, 1)), "two counts may be flicker")
	coarse.tr.grid.step = 0.4
	assert.True(t, coarse.scaled(before, scaled(inch, 0, 1, 0, 1)))

	all := append(nodes(0, 1, 0, 1), scaled(inch, 0, 1, 0, 1)...)
	j := &judgement{tr: &segmenter{origin: 2}, s: &judgeScratch{nodes: all}}
	assert.True(t, j.unitFlipped())
	j.s.nodes = nodes(0, 1, 0, 1, 0, 1, 0, 1)
	assert.False(t, j.unitFlipped())
	j.tr.flip.sure = true
	assert.True(t, j.unitFlipped())
}

func TestTwoLevelsOfAStop(t *testing.T) {
	two := func(levels ...float64) bool {
		return (&judgement{swing: 1, tr: &segmenter{resolution: 0.001}, s: &judgeScratch{}}).twoLevels(seriesOf(levels...))
	}
	assert.True(t, two(0, 0.1, 0, 0.1, 0))
	assert.False(t, two(0, 0.1, 0, 0.1), "four are too few")
	assert.False(t, two(0, 0, 0, 0.1, 0.1), "a step comes once")
	assert.False(t, two(0, 0.1, 0, 0, 0, 0, 0), "one of seven is a partial rock")
	assert.False(t, two(0, 0.07, 0, 0.07, 0), "nearer than a twelfth of the swing")
	assert.False(t, two(0, 1.6, 0, 1.6, 0), "no bearing has such play")
	assert.False(t, two(0, 0.2, 0.05, 0.2, 0), "each level repeats within a twenty-fifth")
	assert.False(t, two(0, 0.2, 0, 0.25, 0))
	assert.True(t, two(0, 0.2, 0.03, 0.23, 0))
	coarse := &judgement{swing: 1, quiet: true, tr: &segmenter{resolution: 0.1}, s: &judgeScratch{}}
	assert.False(t, coarse.twoLevels(seriesOf(0, 0.1, 0, 0.1, 0)), "one count of a coarse gauge")
	assert.True(t, coarse.twoLevels(seriesOf(0, 0.3, 0.1, 0.3, 0)))
}

func TestFarShift(t *testing.T) {
	far := func(step, level, origin float64) bool {
		j := &judgement{swing: 0.15, tr: &segmenter{origin: origin}}
		return j.farShift(explanation{high: trend{step: step, level: level + 0.15}, low: trend{step: step, level: level}})
	}
	assert.False(t, far(1.1, 0, 0), "less than eight swings")
	assert.True(t, far(1.3, 0, 0))
	assert.True(t, far(-1.3, 0, 0))
	assert.False(t, far(1.3, 0, -1.2), "about zero now: pressed")
	assert.False(t, (&judgement{swing: 0.1, tr: &segmenter{}}).farShift(explanation{high: trend{step: 0.9}, low: trend{step: 0.9}}), "a bump moves it by a millimetre at most")
}

// Steps and drifts of levels without scatter, at a swing of 0.15 mm.
func TestNamedSteps(t *testing.T) {
	name := func(high, low []float64) ([]analysis.Fault, bool) {
		j := &judgement{swing: 0.15, tr: &segmenter{resolution: 0.0001}, s: &judgeScratch{}}
		j.s.init()
		for i := range high {
			j.s.turns = append(j.s.turns, stop{t: float64(2 * i), dwelt: true, high: true, dwell: dwell{level: 0.15 + high[i]}},
				stop{t: float64(2*i + 1), dwelt: true, dwell: dwell{level: low[i]}})
		}
		j.s.split()
		j.chooseTrend()
		return j.faults.list(), j.refuse
	}
	for _, c := range []struct {
		high, low []float64
		want      []analysis.Fault
		refused   bool
	}{
		{[]float64{0, 0, 0, 0, 0, 0}, []float64{0, 0, 0, 0, 0, 0}, nil, false},
		{[]float64{0, 0, 0, 0.05, 0.05, 0.05}, []float64{0, 0, 0, 0.05, 0.05, 0.05}, []analysis.Fault{analysis.ZeroShift}, true},
		{[]float64{0, 0, 0, 0.05, 0.05, 0.05}, []float64{0, 0, 0, 0.025, 0.025, 0.025}, nil, false},
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

// Worked by hand: a half cycle of 1 s, dwells of 0.8 s whose range is a quarter
// of the swing, in which a sine spends two thirds of it.
func TestDwellShare(t *testing.T) {
	s := &judgeScratch{}
	for i := range 5 {
		s.turns = append(s.turns, stop{t: float64(i), dwelt: true, dwell: dwell{from: float64(i) - 0.4, to: float64(i) + 0.4, level: float64(i % 2), span: 0.25}})
	}
	assert.InDelta(t, 0.4, s.dwellShare(0, 0.01), 1e-12)
	assert.InDelta(t, 0.7, s.dwellShare(0.1, 0.01), 1e-12, "and the interval after its last reading")
	assert.True(t, math.IsNaN((&judgeScratch{turns: s.turns[:4]}).dwellShare(0, 0.01)), "two tell nothing")
	for i := range s.turns {
		s.turns[i].n, s.turns[i].noise, s.turns[i].span = noisyN, 0.02, 0.25+0.07
	}
	assert.InDelta(t, 0.4, s.dwellShare(0, 0.01), 1e-12, "noise widens it by 3.5 deviations")
	assert.InDelta(t, 0.4, func() float64 {
		for i := range s.turns {
			s.turns[i].span = 0.25 + 0.04
		}
		return s.dwellShare(0, 0.1)
	}(), 1e-12, "by two where the digits hide it")
	for i := range s.turns {
		s.turns[i].n, s.turns[i].span = 0, 0.36
	}
	assert.True(t, math.IsNaN(s.dwellShare(0, 0.01)), "too wide to tell")
}
