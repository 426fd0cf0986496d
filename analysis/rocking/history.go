package rocking

const dwellCap = 64 // dwells, turning points and gaps remembered, the newest

// A history keeps the newest dwellCap entries of a list in constant memory.
type history[T any] struct {
	all  [dwellCap]T
	n    int
	lost int // entries that had to make room
}

func (h *history[T]) push(v T) {
	if h.n == dwellCap {
		copy(h.all[:], h.all[1:])
		h.n--
		h.lost++
	}
	h.all[h.n] = v
	h.n++
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
