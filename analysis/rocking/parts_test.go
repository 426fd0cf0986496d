package rocking

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

func TestGridFindsTheLastDigit(t *testing.T) {
	for _, c := range []struct {
		d    []float64
		want float64
	}{
		{[]float64{0.03, 0.02, -0.05}, 0.01}, {[]float64{0.03, 0.03, 0}, 0.03}, {[]float64{0.0254, 0.0635}, 0.0127}, {[]float64{7, 7 + 1e-9, 14}, 7},
		{nil, 0}, {[]float64{1, math.Sqrt2, math.Pi}, 0}, {[]float64{0.05, 0.02, math.E, 0.01}, 0}, {[]float64{0.004, 0.001, 0.0005}, 0.0005},
	} {
		var g grid
		for _, d := range c.d {
			g.add(d)
		}
		assert.InDelta(t, c.want, g.step, 1e-9, "%v", c.d)
	}
}

func TestNoiseOfDifferences(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, sigma := range []float64{1e-5, 0.002, 0.3} {
		var second noiseMeter
		a, b := 0.0, 0.0
		for i := range 20000 {
			c := sigma * rng.NormFloat64()
			if i%20 == 0 {
				c += 100 * sigma // the wheel starts or stops
			}
			second.add(c - 2*b + a)
			a, b = b, c
		}
		assert.InEpsilon(t, sigma, second.sigma(), 0.3)
	}
	var few, still, big noiseMeter
	for range 7 {
		few.add(1)
	}
	assert.Zero(t, few.sigma(), "seven tell nothing")
	few.add(1)
	assert.Greater(t, few.sigma(), 0.0)
	for i := range 100 {
		still.add(float64(i % 2))
		still.add(0)
		big.add(1e30)
	}
	assert.Zero(t, still.sigma(), "three in four are none")
	assert.False(t, math.IsInf(big.sigma(), 0))
}

func TestHistoryKeepsTheNewest(t *testing.T) {
	var h history[int]
	for i := range dwellCap + 5 {
		assert.Len(t, h.list(), min(i, dwellCap))
		h.push(i)
	}
	assert.Equal(t, 5, h.lost)
	assert.Equal(t, 5, h.list()[0])
	assert.Equal(t, dwellCap+4, h.list()[dwellCap-1])
}

func TestBlocks(t *testing.T) {
	a := newBlock(1, 5, 2, 0.5, true)
	a.merge(newBlock(1.1, 4, -1, -3, false))
	a.merge(newBlock(1.2, 4, 0, 1, false))
	assert.Equal(t, block{from: 1, to: 1.2, n: 3, sum: 13, sumsq: 57, min: 4, max: 5, rough: 10.25, changes: 2, gap: true}, a)
	b := newBlock(2, 9, 0, 0, false)
	assert.Zero(t, b.changes)
	a.merge(b)
	assert.Equal(t, block{from: 1, to: 2, n: 4, sum: 22, sumsq: 138, min: 4, max: 9, rough: 10.25, changes: 2, gap: true}, a)
	assert.Equal(t, 5.5, a.mean())
}

// A long dwell in constant memory: merged two by two its sums stay.
func TestProfileMerges(t *testing.T) {
	var p profile
	p.reset()
	for i := range 1000 {
		p.add(newBlock(float64(i), float64(i%3), 1, 0, false))
	}
	n, sum := 0, 0.0
	for _, b := range p.bins[:p.used] {
		n, sum = n+b.n, sum+b.sum
	}
	assert.Equal(t, 1000, n)
	assert.Equal(t, 999.0, sum)
	assert.Equal(t, p.whole.sum, sum)
	assert.LessOrEqual(t, p.used, profileBins)
	d := p.settle(5)
	assert.InDelta(t, 1, d.level, 0.01)
	assert.Equal(t, 1000, d.n)
	assert.Equal(t, 2.0, d.span)
	assert.Less(t, d.core, 800, "a seventh at either end is left out")
	assert.Greater(t, d.core, 660)
}

func TestZigzag(t *testing.T) {
	var z zigzag
	var at []float64
	for i, x := range []float64{0, 1, 2, 1.5, 3, 4, 2, 1, 1.4, 0, 5} {
		b := newBlock(float64(i), x, 0, 0, false)
		if p, ok := z.add(&b, 1); ok {
			at = append(at, p.t, p.x, p.sure)
		}
	}
	assert.Equal(t, []float64{0, 0, 2, 5, 4, 6, 9, 0, 10}, at, "time, level and when it was sure")
}

func TestStillness(t *testing.T) {
	var s stillness
	s.start(1, 0)
	for i, x := range []float64{1, 1, 2, 2, 2, 2, 9, 9} {
		last := 1.0
		if i > 0 {
			last = []float64{1, 1, 2, 2, 2, 2, 9, 9}[i-1]
		}
		s.add(x-last, x, float64(i+1), 5)
	}
	assert.Equal(t, stillRun{from: 3, to: 6, n: 4, x: 2}, s.longest)
	assert.Equal(t, s.longest, s.jumped, "ended in a jump of 7")
	assert.Equal(t, stillRun{from: 7, to: 8, n: 2, x: 9}, s.now)
}

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

// Source: rounding simulated over all places between two counts.
func TestDither(t *testing.T) {
	assert.InDelta(t, 1.0/12, bias2(0, 1), 1e-12)
	assert.InDelta(t, 4.0/12, bias2(0, 2), 1e-12)
	assert.InDelta(t, 0.0772, bias2(0.011, 1), 1e-4, "summed from a hundredth of a count on")
	assert.InDelta(t, 1/(2*math.Pi*math.Pi)*math.Exp(-math.Pi*math.Pi), bias2(0.5, 1), 1e-9)
	assert.Zero(t, bias2(1, 0))
	rng := rand.New(rand.NewPCG(7, 7))
	for _, sigma := range []float64{0.1, 0.2, 0.4, 1} {
		bias, variance := 0.0, 0.0
		const places, n = 200, 400
		for k := range places {
			at, sum, sq := float64(k)/places, 0.0, 0.0
			for range n {
				v := math.Round(at+sigma*rng.NormFloat64()) - at
				sum, sq = sum+v, sq+v*v
			}
			bias += sum * sum / n / n / places
			variance += (sq - sum*sum/n) / (n - 1) / places
		}
		assert.InDelta(t, bias2(sigma, 1), bias, 0.1*bias2(sigma, 1)+sigma*sigma/n*1.5, "σ %g", sigma)
		assert.InDelta(t, sigma, undither(variance, 1), 0.05*sigma+0.005, "σ %g", sigma)
	}
	assert.Equal(t, 3.0, undither(9, 0))
}

func seriesOf(y ...float64) (s series) {
	for i, v := range y {
		s = append(s, &stop{t: float64(2 * i), dwell: dwell{level: v}})
	}
	return s
}

func TestTrends(t *testing.T) {
	room := make([]float64, 0, 200)
	s := seriesOf(1, 1.1, 5, 0.9, 1)
	assert.Equal(t, trend{level: 1}, s.through(trend{}, room))
	line := seriesOf(3, 4, 5, 60, 7, 8)
	assert.InDelta(t, 0.5, line.drifting(room).slope, 1e-12)
	through := line.through(line.drifting(room), room)
	assert.InDelta(t, 3, through.level, 1e-12)
	assert.InDelta(t, 54, through.miss(line[3], 3), 1e-12)
	assert.InDelta(t, 5, through.size(10), 1e-12)
	var long series
	for i := range 40 {
		long = append(long, &stop{t: float64(i), dwell: dwell{level: 2 - 0.25*float64(i) + 0.01*float64(i%2)}})
	}
	assert.InDelta(t, -0.25, long.drifting(room).slope, 1e-3)

	stepped := seriesOf(1, 1, 1, 4, 4)
	step := stepped.through(stepped.stepping(4, 1, room), room)
	assert.Equal(t, trend{level: 1, step: 3, from: 3}, step)
	assert.Zero(t, step.miss(stepped[2], 2))
	assert.Zero(t, step.miss(stepped[3], 3))
	assert.Equal(t, trend{}, seriesOf(1, 1).stepping(-1, 1, room))
	assert.Equal(t, trend{}, seriesOf(1, 1).stepping(2, 1, room))
	assert.Equal(t, trend{}, stepped.stepping(6, 2, room), "one stop is an odd stop")
	one, other := step.alike(trend{step: 1, from: 1}, 5, 2) // known as well as by 6/5 stops and by half a one
	assert.InDelta(t, (1.2*3+0.5*1)/1.7, one.step, 1e-12)
	assert.Equal(t, one.step, other.step)
	assert.Equal(t, 1, other.from)

	turns := seriesOf(0, 0.1, 0.01, 0.11, 0)
	two := turns.through(turns.turning(room), room)
	assert.InDelta(t, 0.105, two.other, 1e-12)
	for k, c := range turns {
		assert.Less(t, math.Abs(two.miss(c, k)), 0.011)
	}
	assert.Zero(t, seriesOf(0, 0.1, 0, 0, 0, 0, 0).turning(room).other, "one of seven is a partial rock")
	assert.Zero(t, seriesOf(0, 0.1, 0).turning(room).other)
}

// The likelihood of n levels, their scatter unknown: four stops of usual scatter are
// known of it before.
func TestCostOfAHypothesis(t *testing.T) {
	assert.InDelta(t, 5*math.Log(1+8.0/4), unlikely(6, 8), 1e-12)
	assert.InDelta(t, 0.002, usualScatter(0.15), 1e-12)
	assert.InDelta(t, 0.001, usualScatter(0.05), 1e-12)
	j := &judgement{swing: 0.15, blur: 0.0015, tr: &segmenter{}, s: &judgeScratch{}}
	assert.InDelta(t, 4, j.squared(-0.005), 1e-12, "two deviations of usual scatter and noise")
	assert.InDelta(t, 100, j.squared(0.5), 1e-12, "ten at most")
	assert.InDelta(t, 0.006, j.least(), 1e-12)
	j.blind = 0.0029
	assert.InDelta(t, 4.2*0.0029, j.least(), 1e-12, "digits that stand still")
	j.blind = 0
	j.s.high, j.s.low = seriesOf(1, 1.005, 1), seriesOf(0, 0, 0.5)
	j.s.dwelt = append(append(series{}, j.s.high...), j.s.low...)
	assert.InDelta(t, unlikely(6, 104)+3*faultOdds, j.cost(hypothesis{more: 3, high: trend{level: 1}}), 1e-9)
}

// Which dwells passed on the way are no pauses.
func TestPassedAtOneLevel(t *testing.T) {
	float := func(count float64, levels ...float64) bool {
		j := &judgement{swing: 0.15, high: trend{level: 0.15}, tr: &segmenter{resolution: count}, s: &judgeScratch{}}
		j.s.init()
		for i := range 13 {
			j.s.turns = append(j.s.turns, stop{dwelt: true, high: i%2 == 1, dwell: dwell{to: 0.5}})
		}
		for _, x := range levels {
			j.s.passed = append(j.s.passed, stop{dwelt: true, dwell: dwell{to: 0.4, level: x}})
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
		j := &judgement{half: 2, tr: &segmenter{}, s: &judgeScratch{turns: []stop{
			{dwell: dwell{from: 10, to: 14}, dwelt: true}, {dwell: dwell{from: 15, to: 16}, dwelt: true}, {dwell: dwell{from: 17, to: 18}},
		}}}
		j.s.split()
		j.tr.gaps.push(gap{from, to})
		j.lookForGaps()
		assert.False(t, j.refuse)
		return j.faults.has(analysis.Gaps)
	}
	assert.False(t, named(5, 6) || named(9, 10.5), "before the first stop")
	assert.False(t, named(19, 20) || named(17.5, 18.5), "after the last")
	assert.False(t, named(10.5, 11.5), "within a dwell")
	assert.True(t, named(10.5, 11.8), "but long enough to leave and come back")
	assert.True(t, named(14.2, 14.8), "between two stops")
	assert.True(t, named(17.2, 17.8), "no dwell at a bare turn")
	for _, c := range []struct {
		back, n int
		want    bool
	}{{4, 79, true}, {4, 80, false}, {3, 10, false}, {0, 10, false}} {
		j := &judgement{tr: &segmenter{back: c.back, n: c.n}, s: &judgeScratch{}}
		j.lookForGaps()
		assert.Equal(t, c.want, j.refuse && j.faults.has(analysis.Gaps), "%+v", c)
	}
}

func TestOutOfTheBand(t *testing.T) {
	at := func(hi, lo float64, turns ...stop) bool {
		j := &judgement{swing: 1, high: trend{level: 1, slope: 0.1}, low: trend{slope: 0.1}, tr: &segmenter{zig: zigzag{begun: true, hi: hi, lo: lo, thi: 10, tlo: 10}}, s: &judgeScratch{turns: turns}}
		return j.leftBand()
	}
	assert.False(t, at(3.9, -0.9), "two swings beyond either stop, where they are by then")
	assert.True(t, at(4.1, -0.9))
	assert.True(t, at(3.9, -1.1))
	assert.True(t, at(1, 0, stop{t: 10, dwell: dwell{level: 4.1}}))
	assert.False(t, at(1, 0, stop{t: 10, dwelt: true, dwell: dwell{level: 4.1}}), "where it dwelt it was on something")
}
