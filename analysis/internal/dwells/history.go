package dwells

// Cap is how many dwells, turning points and gaps are remembered, the newest.
const Cap = 64

// A history keeps the newest Cap entries of a list in constant memory.
type history[T any] struct {
	all [Cap]T
	n   int
}

// Push adds the newest entry; the oldest makes room.
func (h *history[T]) Push(v T) {
	if h.n == Cap {
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

// List returns the entries kept, the oldest first.
func (h *history[T]) List() []T { return h.all[:h.n] }

// A Gap is a time in which no reading came.
type Gap struct{ From, To float64 }

// A StillRun is readings in a row that were all the same.
type StillRun struct {
	From, To float64
	N        int
	X        float64
}

// Length is how long it lasted.
func (s StillRun) Length() float64 { return s.To - s.From }

// A stillness watches for readings that do not change at all.
type stillness struct {
	Now     StillRun
	Longest StillRun
	Jumped  StillRun // the longest that ended in a jump of half the swing, which no hand makes
}

func (s *stillness) start(t, x float64) { s.Now = StillRun{From: t, To: t, N: 1, X: x} }

// add takes the reading x at t, which is the same as the one before or else jumped.
func (s *stillness) add(same, jumped bool, t, x float64) {
	if same {
		s.Now.N++
		s.Now.To = t
		if s.Now.Length() > s.Longest.Length() {
			s.Longest = s.Now
		}
		return
	}
	if jumped && s.Now.Length() > s.Jumped.Length() {
		s.Jumped = s.Now
	}
	s.start(t, x)
}

// A Turn is a turning point of the motion.
type Turn struct{ T, X float64 }

// A zigzag finds the turning points of the motion: the farthest block before
// the motion came back by more than the threshold.
type zigzag struct {
	begun    bool
	dir      int // +1 rising, -1 falling, 0 unknown
	lo, hi   float64
	tlo, thi float64
}

// add takes the next block and returns a turning point once it is certain.
func (z *zigzag) add(b *block, threshold float64) (Turn, bool) {
	if !z.begun {
		z.begun, z.lo, z.hi, z.tlo, z.thi = true, b.min, b.max, b.from, b.from
		return Turn{}, false
	}
	if b.max > z.hi {
		z.hi, z.thi = b.max, b.to
	}
	if b.min < z.lo {
		z.lo, z.tlo = b.min, b.to
	}
	switch {
	case z.dir >= 0 && z.hi-b.min > threshold && z.thi < b.to:
		p := Turn{T: z.thi, X: z.hi}
		z.dir, z.lo, z.tlo = -1, b.min, b.to
		z.hi, z.thi = b.max, b.to
		return p, true
	case z.dir <= 0 && b.max-z.lo > threshold && z.tlo < b.to:
		p := Turn{T: z.tlo, X: z.lo}
		z.dir, z.hi, z.thi = 1, b.max, b.to
		z.lo, z.tlo = b.min, b.to
		return p, true
	}
	return Turn{}, false
}
