package rocking

const dwellCap = 64 // dwells, turning points and gaps remembered, the newest

// A history keeps the newest dwellCap entries of a list in constant memory.
type history[T any] struct {
	all [dwellCap]T
	n   int
}

func (h *history[T]) push(v T) {
	if h.n == dwellCap {
		h.drop(1)
	}
	h.all[h.n] = v
	h.n++
}

// drop forgets the n oldest entries.
func (h *history[T]) drop(n int) {
	copy(h.all[:], h.all[n:h.n])
	h.n -= n
}

// pop forgets the newest entry.
func (h *history[T]) pop() {
	if h.n > 0 {
		h.n--
	}
}

// list returns the entries kept, the oldest first.
func (h *history[T]) list() []T { return h.all[:h.n] }

// A gap is a time in which no reading came.
type gap struct{ from, to float64 }

// A stillRun is readings in a row that were all the same.
type stillRun struct {
	from, to float64
	n        int
	x        float64
}

func (s stillRun) length() float64 { return s.to - s.from }

// A stillness watches for readings that do not change at all.
type stillness struct {
	now     stillRun
	longest stillRun
	jumped  stillRun // the longest that ended in a jump of half the swing, which no hand makes
}

func (s *stillness) start(t, x float64) { s.now = stillRun{from: t, to: t, n: 1, x: x} }

// add takes the reading x at t, which is the same as the one before or else jumped.
func (s *stillness) add(same, jumped bool, t, x float64) {
	if same {
		s.now.n++
		s.now.to = t
		if s.now.length() > s.longest.length() {
			s.longest = s.now
		}
		return
	}
	if jumped && s.now.length() > s.jumped.length() {
		s.jumped = s.now
	}
	s.start(t, x)
}

// A turn is a turning point of the motion.
type turn struct{ t, x float64 }

// A zigzag finds the turning points of the motion: the farthest block before
// the motion came back by more than the threshold.
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
		p := turn{t: z.thi, x: z.hi}
		z.dir, z.lo, z.tlo = -1, b.min, b.to
		z.hi, z.thi = b.max, b.to
		return p, true
	case z.dir <= 0 && b.max-z.lo > threshold && z.tlo < b.to:
		p := turn{t: z.tlo, x: z.lo}
		z.dir, z.hi, z.thi = 1, b.max, b.to
		z.lo, z.tlo = b.min, b.to
		return p, true
	}
	return turn{}, false
}
