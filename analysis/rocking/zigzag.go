package rocking

// A turn is a turning point of the motion.
type turn struct {
	t, x float64
	sure float64 // when it was certain
}

// A zigzag finds the turning points of the motion: the farthest block before
// the motion came back by more than the threshold. It is certain only then, so a
// turn comes with two times: when it was, and when it was known.
type zigzag struct {
	begun    bool
	dir      int // +1 rising, -1 falling, 0 unknown
	lo, hi   float64
	tlo, thi float64
}

// add takes the next block and returns a turning point once it is certain.
func (z *zigzag) add(b *block, threshold float64) (turn, bool) {
	if !z.begun {
		z.begun, z.lo, z.hi, z.tlo, z.thi = true, b.min, b.max, b.from, b.from
		return turn{}, false
	}
	if b.max > z.hi {
		z.hi, z.thi = b.max, b.to
	}
	if b.min < z.lo {
		z.lo, z.tlo = b.min, b.to
	}
	switch {
	case z.dir >= 0 && z.hi-b.min > threshold && z.thi < b.to:
		p := turn{t: z.thi, x: z.hi, sure: b.to}
		z.dir, z.lo, z.tlo = -1, b.min, b.to
		z.hi, z.thi = b.max, b.to
		return p, true
	case z.dir <= 0 && b.max-z.lo > threshold && z.tlo < b.to:
		p := turn{t: z.tlo, x: z.lo, sure: b.to}
		z.dir, z.hi, z.thi = 1, b.max, b.to
		z.lo, z.tlo = b.min, b.to
		return p, true
	}
	return turn{}, false
}
