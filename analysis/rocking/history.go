package rocking

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
