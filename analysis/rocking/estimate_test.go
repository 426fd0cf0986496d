package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/internal/dwells"
)

func TestSideOfTheStopsInUse(t *testing.T) {
	s := seriesOf(1, 2, 90, 3)
	s[2].outlier = true
	side := s.sum(math.Inf(1), nil)
	assert.Equal(t, [3]float64{3, 2, 1}, [3]float64{side.n, side.mean(), side.sd()})
	assert.Equal(t, 3, s.sound())
}

func TestFlatStops(t *testing.T) {
	still := seriesOf(1, 1, 1)
	for _, c := range still {
		c.Min, c.Max, c.Core = 1, 1, 20
	}
	vary := func(s series) variation { return s.vary(nil) }
	assert.Equal(t, variation{dwells: 3, readings: 60}, vary(still))
	still[1].Max = 1.01
	assert.InDelta(t, 0.01, vary(still).span, 1e-12)
	still[1].outlier = true
	assert.Equal(t, variation{dwells: 2, readings: 40}, vary(still))
	assert.Zero(t, vary(nil).dwells)

	moving := seriesOf(1, 1, 1, 1)
	for _, c := range moving {
		c.Core, c.Sumsq = 20, 19*0.004*0.004
	}
	assert.InDelta(t, 0.004*0.004, vary(moving).within, 1e-12)
	spread := seriesOf(1, 1.02, 1.04)
	for _, c := range spread {
		c.Min, c.Max, c.Core = c.Level, c.Level, 1
	}
	assert.InDelta(t, 0.02*0.02, vary(spread).between, 1e-12)
}

// Stops by how far they are off the others: a partial rock, one beyond, the
// first, the plunger off the gear.
func TestOutliersOfASide(t *testing.T) {
	mark := func(off float64, at int) judgement {
		j := judgement{swing: 0.15, course: hypothesis{level: [2]float64{0, 0.15}}, tr: &dwells.Segmenter{Resolution: 0.0001}, s: &judgeScratch{}}
		for i := range 6 {
			j.s.turns = append(j.s.turns, stop{t: float64(2 * i), dwelt: true, high: true, Dwell: dwells.Dwell{Level: 0.15}}, stop{t: float64(2*i + 1), dwelt: true})
		}
		j.s.turns[at].Level += off
		j.s.split()
		j.markOutliers()
		return j
	}
	// The reach is 5.5 deviations of the usual 2 µm.
	assert.Equal(t, 6, mark(-0.0109, 4).s.high.sound())
	for _, c := range []struct {
		off  float64
		at   int
		want [3]bool // partial, odd, first
	}{
		{-0.0111, 4, [3]bool{true, false, false}}, {0.0111, 4, [3]bool{false, true, false}}, {0.0111, 5, [3]bool{true, false, false}},
		{-0.0111, 5, [3]bool{false, true, false}}, {-0.0111, 0, [3]bool{false, false, true}}, {0.0109, 0, [3]bool{}}, {0.0111, 1, [3]bool{false, false, true}},
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
