package live

import (
	"sync"
	"sync/atomic"

	"crownlog/logger"
	"crownlog/logger/job"
)

// A Hub holds the latest view of a round for whoever watches, and takes what
// they ask of it. It outlives rounds, so one dashboard can follow a whole job.
// All methods may be called from any goroutine and return at once.
type Hub struct {
	view     atomic.Pointer[logger.View]
	tasks    chan func(*logger.Round) error // for the round's goroutine, which may wait on the disk
	requests chan job.Request

	mu       sync.Mutex
	watchers map[chan struct{}]bool // of Watch
}

// NewHub returns a hub without a view.
func NewHub() *Hub {
	return &Hub{
		tasks:    make(chan func(*logger.Round) error, 16),
		requests: make(chan job.Request, 1),
		watchers: make(map[chan struct{}]bool),
	}
}

// Publish makes v the latest view and wakes whoever watches.
func (h *Hub) Publish(v logger.View) {
	h.view.Store(&v)
	h.Poke()
}

// Poke wakes whoever watches, without another view.
func (h *Hub) Poke() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for wake := range h.watchers {
		offer(wake, struct{}{})
	}
}

// Watch gives whoever watches a slot of their own, filled when there is a view that
// was not taken yet, until stop is called.
func (h *Hub) Watch() (wake <-chan struct{}, stop func()) {
	slot := make(chan struct{}, 1)
	h.mu.Lock()
	defer h.mu.Unlock()
	h.watchers[slot] = true
	return slot, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.watchers, slot)
	}
}

// Latest returns the view published last; before the first its position is -1.
func (h *Hub) Latest() logger.View {
	if v := h.view.Load(); v != nil {
		return *v
	}
	return logger.View{Current: -1}
}

// Command leaves c for the round.
func (h *Hub) Command(c logger.Command) { h.Do(func(r *logger.Round) error { return r.Command(c) }) }

// Do leaves a task for the round's goroutine, which may write to the record. With
// sixteen waiting it is dropped, since the keys are then far ahead of the eyes.
func (h *Hub) Do(task func(*logger.Round) error) { offer(h.tasks, task) }

// Request asks that the job goes on with another round. While one such request
// waits the next is dropped.
func (h *Hub) Request(r job.Request) { offer(h.requests, r) }

// offer sends v unless the channel is full.
func offer[T any](to chan<- T, v T) {
	select {
	case to <- v:
	default:
	}
}
