package dwells

// A block is a few neighbouring readings taken together: at most blockSpan of
// a fast gauge, one reading of a slow one. Values are relative to the first
// reading of the trace.
type block struct {
	from, to   float64
	n          int
	sum, sumsq float64
	min, max   float64
	rough      float64 // sum of squared differences
	changes    int     // readings that differ from the one before
}

// add takes in the next reading, which differs by d from the one before.
func (b *block) add(t, x, d float64) {
	if b.n == 0 {
		*b = block{from: t, min: x, max: x}
	}
	b.to = t
	b.n++
	b.sum += x
	b.sumsq += x * x
	b.rough += d * d
	if d != 0 {
		b.changes++
	}
	b.min = min(b.min, x)
	b.max = max(b.max, x)
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
	b.min = min(b.min, c.min)
	b.max = max(b.max, c.max)
}

func (b *block) mean() float64 { return b.sum / float64(b.n) }
