// Package live runs rounds from gauges that are at work: each gauge reads on a
// goroutine of its own, one goroutine owns the round, and whoever watches takes
// views from a hub and leaves commands there. It knows no screen.
package live

import (
	"context"
	"iter"
	"sync"

	"crownlog/device"
)

// A Source is a gauge that runs until ctx ends: a serial one, a keyed one, one
// replayed from a file.
type Source interface {
	Run(ctx context.Context, out chan<- device.Event) error
}

// Gauges are sources at work, each on its own goroutine, feeding one channel.
type Gauges struct {
	events chan device.Event
	failed chan error
	cancel context.CancelFunc
	done   sync.WaitGroup
	away   map[string]device.Event // the loss of each gauge that is away, by label, for the rounds to come; the round's goroutine owns it
}

// Start sets the sources to work until ctx ends or Stop is called.
func Start(ctx context.Context, sources ...Source) *Gauges {
	ctx, cancel := context.WithCancel(ctx)
	g := &Gauges{
		// Four gauges at 100 Hz fill 256 in 0.6 s: as long as the disk may take
		// over one fsync before a gauge has to wait.
		events: make(chan device.Event, 256),
		failed: make(chan error, len(sources)),
		away:   make(map[string]device.Event),
		cancel: cancel,
	}
	for _, s := range sources {
		g.done.Go(func() {
			if err := Caught(func() error { return s.Run(ctx, g.events) }); err != nil {
				g.failed <- err
			}
		})
	}
	return g
}

// Events is where what the sources say arrives.
func (g *Gauges) Events() <-chan device.Event { return g.events }

// Failed brings the error of each source that ended with one, after all its
// events were sent.
func (g *Gauges) Failed() <-chan error { return g.failed }

// Queued takes the events that wait. All that a source sent are among them once
// its error is in Failed.
func (g *Gauges) Queued() iter.Seq[device.Event] {
	return func(yield func(device.Event) bool) {
		for range len(g.events) {
			if !yield(<-g.events) {
				return
			}
		}
	}
}

// Stop ends the sources and waits for them.
func (g *Gauges) Stop() {
	g.cancel()
	g.done.Wait()
}
