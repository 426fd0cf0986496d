package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

func TestSideOfTheStopsInUse(t *testing.T) {
	s := seriesOf(1, 2, 90, 3)
	s[2].outlier = true
	m := s.use(func(c *stop) float64 { return c.level + 10 }, make([]float64, 0, 9))
	assert.Equal(t, sideMean{3, 12, 1}, m)
	assert.Equal(t, 3, s.sound())
}

// Twenty bins of ten readings, in which three at either end are on their way.
func TestSettledPart(t *testing.T) {
	var p profile
	p.reset()
	for i := range 20 {
		x := 5 + 0.001*float64(i%2)
		switch {
		case i < 2:
			x = 3
		case i == 10:
			x = 5.2
		case i > 18:
			x = 8
		}
		b := newBlock(float64(i), x, 0, 0.1, false)
		for range 9 {
			b.merge(newBlock(float64(i)+0.9, x, 0.001, 0.1, false))
		}
		p.add(b)
	}
	d := p.settle(0.1)
	assert.InDelta(t, 5.0005, d.level, 2e-4, "both ends and the wild bin left out")
	assert.Equal(t, [2]float64{5, 5.001}, [2]float64{d.min, d.max})
	assert.Equal(t, 130, d.core, "three bins off either end, one in between")
	assert.Equal(t, 200, d.n)
	assert.Equal(t, 13*9, d.changes)
	assert.InDelta(t, 5, d.span, 1e-12)
	assert.InDelta(t, 0.1/math.Sqrt(6), d.noise, 1e-12)
	assert.InDelta(t, 130*0.0005*0.0005, d.sumsq, 2e-6)
	assert.Equal(t, 30.0, d.end.n, "its last sixth")
	first, last := p.edges(2.5)
	assert.Equal(t, [2]int{3, 17}, [2]int{first, last})
	first, last = p.edges(9)
	assert.Equal(t, [2]int{5, 15}, [2]int{first, last}, "a quarter at most")
}

func TestFlatStops(t *testing.T) {
	assert.Equal(t, 1.0, allOnOneCount(0, 0.01, 9))
	assert.InDelta(t, math.Pow(0.6826895, 3), allOnOneCount(0.005, 0.01, 3), 1e-6, "within one deviation three times")

	same := func(s series) [2]int {
		n, dwells := s.identical()
		return [2]int{n, dwells}
	}
	still := seriesOf(1, 1, 1)
	for _, c := range still {
		c.min, c.max, c.core = 1, 1, 20
	}
	assert.Equal(t, [2]int{60, 3}, same(still))
	still[1].max = 1.01
	assert.Equal(t, [2]int{}, same(still))
	still[1].outlier = true
	assert.Equal(t, [2]int{40, 2}, same(still))
	assert.Equal(t, [2]int{}, same(nil))

	still[1].outlier = false
	_, _, shows := still.variation(0.01)
	assert.False(t, shows, "one of three moves")
	still[0].max = 1.01
	_, _, shows = still.variation(0.01)
	assert.True(t, shows)

	moving := seriesOf(1, 1, 1, 1)
	for i, c := range moving {
		c.min, c.max, c.core, c.changes = 1, 1.016, 20, 4+2*(i/2)
	}
	assert.Equal(t, 0.5, moving.movingShare(0.01), "to and fro, not once across an edge")
	for _, c := range moving {
		c.max, c.changes = 1.014, 9
	}
	assert.Zero(t, moving.movingShare(0.01), "two counts prove nothing")
	noise, _, _ := moving.variation(0.01)
	assert.Zero(t, noise)
	for _, c := range moving {
		c.max, c.sumsq = 1.03, 19*0.004*0.004
	}
	noise, _, _ = moving.variation(0.01)
	assert.InDelta(t, undither(0.004*0.004, 0.01), noise, 1e-12)

	_, scatter, _ := seriesOf(1, 1.02, 1.04).variation(0.01)
	assert.InDelta(t, 0.6*undither(0.02*0.02, 0.01), scatter, 1e-6)
	_, scatter, _ = seriesOf(1, 1, 1).variation(0.01)
	assert.Zero(t, scatter)
	_, scatter, _ = seriesOf(1, 2).variation(0.01)
	assert.Zero(t, scatter, "two tell nothing")
}

// Stops by how far they are off the others: a partial rock, one beyond, the
// first, the plunger off the gear.
func TestOutliersOfASide(t *testing.T) {
	mark := func(off float64, at int) judgement {
		j := judgement{swing: 0.15, high: trend{level: 0.15}, tr: &segmenter{resolution: 0.0001}, s: &judgeScratch{}}
		j.s.init()
		for i := range 6 {
			j.s.turns = append(j.s.turns, stop{t: float64(2 * i), dwelt: true, high: true, dwell: dwell{level: 0.15}}, stop{t: float64(2*i + 1), dwelt: true})
		}
		j.s.turns[at].level += off
		j.s.split()
		j.markOutliers()
		return j
	}
	// The reach is 5.5 deviations of the usual 2 µm, 4.5 for the first.
	assert.Equal(t, 6, mark(-0.0109, 4).s.high.sound())
	for _, c := range []struct {
		off  float64
		at   int
		want [3]bool // partial, odd, first
	}{
		{-0.0111, 4, [3]bool{true, false, false}}, {0.0111, 4, [3]bool{false, true, false}}, {0.0111, 5, [3]bool{true, false, false}},
		{-0.0111, 5, [3]bool{false, true, false}}, {-0.0091, 0, [3]bool{false, false, true}}, {0.0089, 0, [3]bool{}}, {0.0091, 1, [3]bool{false, false, true}},
	} {
		j := mark(c.off, c.at)
		assert.Equal(t, c.want, [3]bool{j.partial == 1, j.odd == 1, j.first}, "%+v", c)
		assert.Equal(t, c.want != [3]bool{}, j.s.turns[c.at].outlier, "%+v", c)
		assert.Zero(t, j.faults)
	}
	assert.Equal(t, faultBit(analysis.OffGear), mark(0.24, 4).faults, "one and a half swings beyond")
	assert.Zero(t, mark(0.22, 4).faults)
	assert.True(t, mark(0.24, 4).s.turns[4].outlier)
}
