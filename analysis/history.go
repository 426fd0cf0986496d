package analysis

// A history keeps the newest restCap entries of a list in constant memory.
type history[T any] struct {
	ring    [restCap]T
	next, n int
	lost    int // entries that had to make room
}

func (h *history[T]) push(v T) {
	h.ring[h.next] = v
	h.next = (h.next + 1) % restCap
	if h.n < restCap {
		h.n++
	} else {
		h.lost++
	}
}

func (h *history[T]) len() int { return h.n }

// at returns entry i, 0 being the oldest kept.
func (h *history[T]) at(i int) *T { return &h.ring[(h.next-h.n+i+restCap)%restCap] }

// A turn is a turning point of the motion.
type turn struct {
	t, x float64
	sure float64 // when it was certain
}

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

// A stillness watches for readings that do not change at all.
type stillness struct {
	now     stillRun
	longest stillRun
	jumped  stillRun // the longest that ended in a jump of nearly the whole swing
}

// A stillRun is readings in a row that were all the same.
type stillRun struct {
	from, to float64
	n        int
	x        float64
}

func (s stillRun) length() float64 { return s.to - s.from }

func (s *stillness) start(x, t float64) { s.now = stillRun{from: t, to: t, n: 1, x: x} }

// add takes the difference d of the reading x at t from the one before. A d of
// jump or more is one that no hand makes between two readings; 0 if unknown.
func (s *stillness) add(d, x, t, jump float64) {
	if d == 0 {
		s.now.n++
		s.now.to = t
		if s.now.length() > s.longest.length() {
			s.longest = s.now
		}
		return
	}
	if jump > 0 && (d >= jump || -d >= jump) && s.now.length() > s.jumped.length() {
		s.jumped = s.now
	}
	s.start(x, t)
}

// A gapList keeps the longest silences.
type gapList struct {
	at [8]struct{ from, to float64 }
	n  int
}

func (g *gapList) add(from, to float64) {
	i := g.n
	if g.n < len(g.at) {
		g.n++
	} else {
		i = 0
		for k := range g.at {
			if g.at[k].to-g.at[k].from < g.at[i].to-g.at[i].from {
				i = k
			}
		}
	}
	g.at[i].from, g.at[i].to = from, to
}
