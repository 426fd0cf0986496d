package rocking

// A history keeps the newest restCap entries of a list in constant memory.
type history[T any] struct {
	ring    [dwellCap]T
	next, n int
	lost    int // entries that had to make room
}

func (h *history[T]) push(v T) {
	h.ring[h.next] = v
	h.next = (h.next + 1) % dwellCap
	if h.n < dwellCap {
		h.n++
	} else {
		h.lost++
	}
}

func (h *history[T]) len() int { return h.n }

// at returns entry i, 0 being the oldest kept.
func (h *history[T]) at(i int) *T { return &h.ring[(h.next-h.n+i+dwellCap)%dwellCap] }

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
