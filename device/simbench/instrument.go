package simbench

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"time"

	"crownlog/device"
)

// An Instrument is one gauge of the bench, on a port of its own.
type Instrument struct {
	Resolution float64 // one count in mm, N·m, kPa or °C

	bench *Bench
	send  liner
	name  string // the port's stable name
	acks  chan struct{}

	// Under bench.mu.
	rate      float64 // Hz
	next      float64 // second of the next line
	listening bool
	wire      device.Conn // the bench's end; nil while unplugged
}

func newInstrument(b *Bench, label string, rate, resolution float64, send liner) *Instrument {
	return &Instrument{Resolution: resolution, bench: b, send: send, rate: rate, next: 1 / rate,
		name: filepath.Join(b.links, label), acks: make(chan struct{}, 1)}
}

// Open opens the gauge's port with the code that opens a serial port; it is a
// device.Opener. The gauge talks until the port is closed.
func (i *Instrument) Open(ctx context.Context) (device.Port, string, error) {
	b := i.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	p, err := i.openWire(ctx)
	if err != nil {
		return nil, i.name, err
	}
	i.listening, i.next = true, b.clock+1/i.rate
	poke(b.changed)
	return &listenedPort{Port: p, leave: sync.OnceFunc(i.left)}, i.name, nil
}

// openWire opens the reader's end of a new wire, which holds nothing that an earlier
// listener left unread. A pseudo-terminal may have the number of one that is gone,
// and a program that waits for that one to come back may take ours first: then the
// next is plugged in, and that program finds its port gone again.
func (i *Instrument) openWire(ctx context.Context) (p device.Port, err error) {
	if i.wire == nil {
		return nil, &device.PortError{Port: i.name, Reason: device.PortMissing}
	}
	for range 20 { // no program takes so many
		i.wire.Close()
		var open device.Opener
		if open, err = i.plug(); err != nil {
			return nil, err
		}
		if p, _, err = open(ctx); !errors.Is(err, &device.PortError{Reason: device.PortBusy}) {
			return p, err
		}
	}
	return nil, err
}

// left notes that nobody listens any more.
func (i *Instrument) left() {
	i.bench.mu.Lock()
	i.listening = false
	i.bench.mu.Unlock()
	i.Ack()
	poke(i.bench.changed)
}

// A listenedPort tells the bench when its listener leaves.
type listenedPort struct {
	device.Port
	leave func()
}

// Close closes the port; the gauge falls silent.
func (p *listenedPort) Close() error {
	p.leave()
	return p.Port.Close()
}

// Ack tells the bench that the last line has been dealt with. Call it once for
// each reading or garbled frame of this gauge.
func (i *Instrument) Ack() { poke(i.acks) }

// poke leaves a word in a channel of one slot, where one is enough.
func poke(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// emit sends a line and waits until it is dealt with, the listener leaves, or
// nobody acknowledges.
func (i *Instrument) emit(ctx context.Context, line []byte) {
	i.bench.mu.Lock()
	w, listening := i.wire, i.listening
	select {
	case <-i.acks: // of a line given up
	default:
	}
	i.bench.mu.Unlock()
	if !listening {
		return
	}
	patience := 10 * time.Millisecond // real time, in which an unplugged gauge misses its turn
	if w != nil {
		// A write waits for its reader as the line for its Ack: on a busy machine a
		// line lost would make another run of the same seed. Where a terminal knows
		// no deadline, its buffer takes the line at once.
		w.SetWriteDeadline(time.Now().Add(i.bench.config.AckWait))
		stop := context.AfterFunc(ctx, func() { w.SetWriteDeadline(time.Now()) })
		if _, err := w.Write(line); err == nil {
			patience = i.bench.config.AckWait
		}
		stop()
	}
	select {
	case <-ctx.Done():
	case <-i.acks:
	case <-time.After(patience):
	}
}

// Unplug pulls the gauge's cable: its listener finds the port gone.
func (i *Instrument) Unplug() {
	i.bench.mu.Lock()
	defer i.bench.mu.Unlock()
	if i.wire != nil {
		i.wire.Close()
		i.wire = nil
	}
}

// Replug plugs the gauge in again, as another device under the same name. It
// does nothing while plugged in.
func (i *Instrument) Replug() error {
	i.bench.mu.Lock()
	defer i.bench.mu.Unlock()
	if i.wire != nil {
		return nil
	}
	_, err := i.plug()
	return err
}

// plug gives the gauge a new wire, none where that fails, and returns what opens it.
// The caller holds bench.mu.
func (i *Instrument) plug() (open device.Opener, err error) {
	if i.wire, open, err = newWire(i.name); err != nil {
		err = fmt.Errorf("port for the simulated %s: %w", filepath.Base(i.name), err)
	}
	return open, err
}
