package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/dwells"
)

func TestFaultSet(t *testing.T) {
	var s faultSet
	for _, f := range []analysis.Fault{analysis.TooFewRocks, analysis.UnitFlip, analysis.Gaps, analysis.Gaps} {
		s.add(f)
	}
	assert.Equal(t, []analysis.Fault{analysis.UnitFlip, analysis.Gaps, analysis.TooFewRocks}, s.list())
	assert.True(t, s.has(analysis.Gaps))
	assert.False(t, s.has(analysis.Frozen) || s.has("no such"))
}

func TestPlunger(t *testing.T) {
	assert.InDelta(t, math.Cos(0.1), PlungerFactor(18/math.Pi, 0), 1e-12)
	assert.InDelta(t, 1.2, PlungerFactor(0, 1.2), 1e-12)
	assert.InDelta(t, 0.6, PlungerFactor(60, 1.2), 1e-12)
	assert.Empty(t, PlungerDoubts(0.15, 0, 0))
	d := PlungerDoubts(0.15, 10, 1.1)
	assert.InDelta(t, 0.15*math.Tan(10*math.Pi/180)*gum.Rectangular(2*math.Pi/180), d[0].Contribution(), 1e-12)
	assert.InDelta(t, 0.15*gum.Rectangular(0.01), d[1].Contribution(), 1e-12)
}

func seriesOf(y ...float64) (s series) {
	for i, v := range y {
		s = append(s, &stop{t: float64(2 * i), Dwell: dwells.Dwell{Level: v}})
	}
	return s
}

// scratchOf is a high series and a low one of the levels.
func scratchOf(high, low []float64) *judgeScratch {
	s := &judgeScratch{values: make([]float64, 0, 999)}
	for i := range max(len(high), len(low)) {
		if i < len(high) {
			s.turns = append(s.turns, stop{t: float64(2 * i), dwelt: true, high: true, Dwell: dwells.Dwell{Level: high[i]}})
		}
		if i < len(low) {
			s.turns = append(s.turns, stop{t: float64(2*i + 1), dwelt: true, Dwell: dwells.Dwell{Level: low[i]}})
		}
	}
	s.split()
	return s
}

func TestHypothesesAreFitted(t *testing.T) {
	fitted := func(h hypothesis, high, low []float64) hypothesis {
		s := scratchOf(high, low)
		h.fit(s)
		return h
	}
	h := fitted(hypothesis{}, []float64{1, 1.1, 5, 0.9, 1}, []float64{0, 0, 2})
	assert.Equal(t, [2]float64{0, 1}, h.level, "medians")
	assert.Zero(t, h.size)
	h = fitted(hypothesis{shape: drifts, high: true}, []float64{3, 4, 5, 60, 7, 8}, []float64{0, 9, 0})
	assert.InDelta(t, 0.5, h.size, 1e-12, "one wild level is left aside")
	assert.InDelta(t, 3, h.level[1], 1e-12)
	assert.InDelta(t, 54, h.miss(&stop{t: 6, high: true, Dwell: dwells.Dwell{Level: 60}}), 1e-12)
	assert.InDelta(t, 5, h.reach(10), 1e-12)
	long := make([]float64, 40)
	for i := range long {
		long[i] = 2 - 0.5*float64(i) + 0.01*float64(i%2)
	}
	assert.InDelta(t, -0.25, fitted(hypothesis{shape: drifts, high: true, low: true}, long, nil).size, 1e-3)
	h = fitted(hypothesis{shape: steps, high: true, low: true, at: 5}, []float64{1, 1, 1, 4, 4}, []float64{0, 0, 3, 3})
	assert.Equal(t, 3.0, h.size)
	assert.Equal(t, [2]float64{0, 1}, h.level, "before the step")
	assert.Zero(t, h.miss(&stop{t: 6, high: true, Dwell: dwells.Dwell{Level: 4}}))
	s := scratchOf([]float64{0, 0.1, 0.01, 0.11, 0}, nil)
	at, ok := s.high.halves(s.values)
	assert.True(t, ok)
	assert.InDelta(t, 0.055, at, 1e-12)
	h = fitted(hypothesis{shape: turns, high: true, at: at}, []float64{0, 0.1, 0.01, 0.11, 0}, nil)
	assert.InDelta(t, 0.1, h.size, 0.01)
	_, ok = seriesOf(0, 0.1, 0, 0, 0, 0, 0).halves(s.values)
	assert.False(t, ok, "one of seven is a partial rock")
	assert.True(t, seriesOf(1, 1, 1, 1).parted(3))
	assert.False(t, seriesOf(1, 1, 1, 1).parted(1), "one stop is an odd stop")
}

// The likelihood of n levels, their scatter unknown: four stops of usual scatter are
// known of it before.
func TestCostOfAHypothesis(t *testing.T) {
	assert.InDelta(t, 5*math.Log(1+8.0/4), unlikely(6, 8), 1e-12)
	j := &judgement{swing: 0.15, blur: 0.0015, tr: &dwells.Segmenter{}, s: scratchOf([]float64{1, 1.005, 1}, []float64{0, 0, 0.5})}
	assert.InDelta(t, 4, j.squared(-0.005), 1e-12, "two deviations of usual scatter and noise")
	assert.InDelta(t, 100, j.squared(0.5), 1e-12, "ten at most")
	assert.InDelta(t, 0.0025, j.usual(), 1e-12)
	assert.InDelta(t, 0.00125, (&judgement{swing: 0.05}).usual(), 1e-12)
	j.weigh(0, hypotheses[0])
	assert.InDelta(t, unlikely(6, 104), j.table[0].cost, 1e-9)
	j.s = scratchOf([]float64{1, 1.001, 1.002}, []float64{0, 0.001, 0.002})
	j.weigh(1, hypotheses[1])
	assert.Zero(t, j.table[1].cost, "no drift to speak of")
}

// Which dwells passed on the way are no pauses.
func TestPassedAtOneLevel(t *testing.T) {
	float := func(count float64, levels ...float64) bool {
		j := &judgement{swing: 0.15, course: hypothesis{level: [2]float64{0, 0.15}}, tr: &dwells.Segmenter{Resolution: count, Swing: 0.15}, s: &judgeScratch{}}
		for i := range 13 {
			j.s.turns = append(j.s.turns, stop{dwelt: true, high: i%2 == 1, Dwell: dwells.Dwell{To: 0.5}})
		}
		for _, x := range levels {
			j.s.passed = append(j.s.passed, stop{dwelt: true, Dwell: dwells.Dwell{To: 0.4, Level: x}})
		}
		j.s.split()
		j.lookForFloat()
		return j.refuse && j.faults.has(analysis.EndFloat)
	}
	assert.True(t, float(0.0001, 0.03, 0.0500, 0.0502, 0.0503, 0.0504, 0.09))
	assert.False(t, float(0.0001, 0.03, 0.05, 0.07, 0.09, 0.11))
	assert.False(t, float(0.0001, 0.05, 0.05), "two are chance")
	assert.False(t, float(0.0001, 0.03, 0.05, 0.05, 0.05, 0.07, 0.09, 0.11), "most of them are pauses")
	assert.False(t, float(0.02, 0.03, 0.0500, 0.0502, 0.0503, 0.0504, 0.09), "a coarse display makes them alike")
	assert.False(t, float(0.0001, 0.005, 0.005, 0.005, 0.005), "the stop itself")
}

func TestGapsThatMatter(t *testing.T) {
	named := func(from, to float64) bool {
		j := &judgement{half: 2, tr: &dwells.Segmenter{}, s: &judgeScratch{turns: []stop{
			{Dwell: dwells.Dwell{From: 10, To: 14}, dwelt: true}, {Dwell: dwells.Dwell{From: 15, To: 16}, dwelt: true}, {Dwell: dwells.Dwell{From: 17, To: 18}},
		}}}
		j.s.split()
		j.tr.Gaps.Push(dwells.Gap{From: from, To: to})
		j.lookForGaps()
		assert.False(t, j.refuse)
		return j.faults.has(analysis.Gaps)
	}
	assert.False(t, named(5, 6) || named(9, 10.5), "before the first stop")
	assert.False(t, named(19, 20) || named(17.5, 18.5), "after the last")
	assert.False(t, named(10.5, 11.5), "within a dwell")
	assert.True(t, named(10.5, 12.6), "but long enough to leave and come back")
	assert.True(t, named(14.2, 14.8), "between two stops")
	assert.True(t, named(17.2, 17.8), "no dwell at a bare turn")
	for _, c := range []struct {
		back, n int
		want    bool
	}{{4, 39, true}, {4, 40, false}, {2, 1, false}, {0, 10, false}} {
		j := &judgement{tr: &dwells.Segmenter{Back: c.back, N: c.n}, s: &judgeScratch{}}
		j.lookForGaps()
		assert.Equal(t, c.want, j.refuse && j.faults.has(analysis.Gaps), "%+v", c)
	}
}
