package rocking

import "math"

// A block is a few neighbouring readings taken together: at most blockSpan of
// a fast gauge, one reading of a slow one. Values are relative to the first
// reading of the trace.
type block struct {
	from, to   float64
	n          int
	sum, sumsq float64
	min, max   float64
	rough      float64 // sum of squared second differences
	changes    int     // readings that differ from the one before
	gap        bool    // no reading came for too long before this block
}

// newBlock starts a block with a reading that differs by d from the one before,
// where the difference before that was d-d2.
func newBlock(t, x, d, d2 float64, gap bool) block {
	b := block{from: t, to: t, n: 1, sum: x, sumsq: x * x, min: x, max: x, rough: d2 * d2, gap: gap}
	if d != 0 {
		b.changes = 1
	}
	return b
}

// merge takes in a block that follows; an empty one becomes it.
func (b *block) merge(c *block) {
	if b.n == 0 {
		*b = *c
		return
	}
	b.to = c.to
	b.n += c.n
	b.sum += c.sum
	b.sumsq += c.sumsq
	b.rough += c.rough
	b.changes += c.changes
	b.min = math.Min(b.min, c.min)
	b.max = math.Max(b.max, c.max)
}

func (b *block) mean() float64 { return b.sum / float64(b.n) }
