package dwells

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

func TestHistoryKeepsTheNewest(t *testing.T) {
	var h history[int]
	for i := range Cap + 5 {
		assert.Len(t, h.List(), min(i, Cap))
		h.Push(i)
	}
	assert.Equal(t, 5, h.List()[0])
	assert.Equal(t, Cap+4, h.List()[Cap-1])
}

// newBlock is a block of one reading.
func newBlock(t, x, d float64) (b block) {
	b.add(t, x, d)
	return b
}

func TestBlocks(t *testing.T) {
	a := newBlock(1, 5, 2)
	for _, b := range []block{newBlock(1.1, 4, -1), newBlock(1.2, 4, 0)} {
		a.merge(&b)
	}
	assert.Equal(t, block{from: 1, to: 1.2, n: 3, sum: 13, sumsq: 57, min: 4, max: 5, rough: 5, changes: 2}, a)
	b := newBlock(2, 9, 0)
	assert.Zero(t, b.changes)
	a.merge(&b)
	assert.Equal(t, block{from: 1, to: 2, n: 4, sum: 22, sumsq: 138, min: 4, max: 9, rough: 5, changes: 2}, a)
	assert.Equal(t, 5.5, a.mean())
}

// An hour at one stop in constant memory: its blocks are merged two by two, and
// their sums stay.
func TestLongDwellIsMerged(t *testing.T) {
	r := Segmenter{Resolution: 0.001}
	for i := range 50 * 3600 {
		r.Add(analysis.Sample{T: float64(i) / 50, X: 0.001 * float64(i%3)})
	}
	d, ok := r.Open()
	assert.True(t, ok)
	assert.InDelta(t, 50*3600, d.N, 2, "one block is open")
	assert.InDelta(t, 0.001, d.Level, 1e-5)
	assert.Less(t, d.Core, 50*3600-50, "a second of fine blocks is left out at its beginning")
	assert.Greater(t, d.Core, 50*3600-250)
	assert.Less(t, r.used, keptBlocks)
}

func TestZigzag(t *testing.T) {
	var z zigzag
	var at []float64
	for i, x := range []float64{0, 1, 2, 1.5, 3, 4, 2, 1, 1.4, 0, 5} {
		b := newBlock(float64(i), x, 0)
		if p, ok := z.add(&b, 1); ok {
			at = append(at, p.T, p.X)
		}
	}
	assert.Equal(t, []float64{0, 0, 5, 4, 9, 0}, at, "time and level")
}

func TestStillness(t *testing.T) {
	var s stillness
	s.start(0, 1)
	last := 1.0
	for i, x := range []float64{1, 1, 2, 2, 2, 2, 9, 9} {
		s.add(x == last, x-last > 5, float64(i+1), x)
		last = x
	}
	assert.Equal(t, StillRun{From: 3, To: 6, N: 4, X: 2}, s.Longest)
	assert.Equal(t, s.Longest, s.Jumped, "ended in a jump of 7")
	assert.Equal(t, StillRun{From: 7, To: 8, N: 2, X: 9}, s.Now)
}

// Twenty blocks of ten readings, of which one is wild and three are on their way.
func TestSettledPart(t *testing.T) {
	r := &Segmenter{Resolution: 0.09}
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
		b := newBlock(float64(i), x, 0)
		for range 9 {
			c := newBlock(float64(i)+0.9, x, 0.001)
			b.merge(&c)
		}
		r.keep(&b)
	}
	d, ok := r.settled(dwellSpan{from: 0, to: 20})
	assert.True(t, ok)
	assert.InDelta(t, 5.0005, d.Level, 2e-4, "both ends and the wild block left out")
	assert.Equal(t, [2]float64{5, 5.001}, [2]float64{d.Min, d.Max})
	assert.Equal(t, 130, d.Core, "three blocks off either end, one in between")
	assert.Equal(t, 200, d.N)
	assert.Equal(t, 13*9, d.Changes)
	assert.InDelta(t, 0.001*math.Sqrt(0.9/2), d.Noise, 1e-12)
	assert.InDelta(t, 130*0.0005*0.0005, d.Sumsq, 2e-6)
	_, ok = r.settled(dwellSpan{from: 30, to: 40})
	assert.False(t, ok, "no block of it is kept")
}

// A parabola of unit height, and a line.
func TestBend(t *testing.T) {
	var up, line blocks
	for i := range 21 {
		u := float64(i)/10 - 1
		up = append(up, newBlock(float64(i), u*u, 0))
		line = append(line, newBlock(float64(i), u, 0))
	}
	assert.InDelta(t, 1, up.bend(), 1e-12)
	assert.InDelta(t, 0, line.bend(), 1e-12)
	assert.Zero(t, line[:1].bend())
}

func TestBins(t *testing.T) {
	for at, want := range map[float64]int{0.029: -1, 0.031: 0, 0.05: 1, 0.061: 2, 0.13: 4, 90: Bins - 1} {
		assert.Equal(t, want, binOf(at), at)
	}
}
