package simbench

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"time"

	"crownlog/device"
)

// An Instrument is one gauge of the bench, on a port of its own.
type Instrument struct {
	bench *Bench
	label string
	gauge gauge
	name  string // the port's stable name
	acks  chan struct{}

	// Under bench.mu.
	rate      float64 // Hz
	next      float64 // second of the next line
	listening bool
	closed    chan struct{} // closed when the listener leaves

	mu   sync.Mutex
	wire wire // nil while unplugged
}

// A wire carries a gauge's lines to whoever opens its other end.
type wire interface {
	write(p []byte) error // may block until close when nobody reads
	// open opens the reader's end; the caller closes it.
	open(ctx context.Context) (device.Port, error)
	close()
}

func newInstrument(b *Bench, which int, rate float64, g gauge) *Instrument {
	label := labels[which]
	return &Instrument{bench: b, label: label, gauge: g, rate: rate, next: 1 / rate,
		name: filepath.Join(b.links, label), acks: make(chan struct{}, 1)}
}

// PortName is the name to open the gauge under, as for any serial port. It
// stays the same after Unplug and Replug.
func (i *Instrument) PortName() string { return i.name }

// Resolution is one count of the gauge in mm, N·m or kPa.
func (i *Instrument) Resolution() float64 { return i.gauge.step() }

// Open opens the gauge's port with the code that opens a serial port; it is a
// device.Opener. The gauge talks until the port is closed.
func (i *Instrument) Open(ctx context.Context) (device.Port, string, error) {
	i.mu.Lock()
	w := i.wire
	i.mu.Unlock()
	if w == nil {
		return nil, i.name, &device.PortError{Port: i.name, Reason: device.PortMissing}
	}
	p, err := w.open(ctx)
	if err != nil {
		return nil, i.name, err
	}
	if err := discard(p); err != nil {
		p.Close()
		return nil, i.name, err
	}
	b := i.bench
	b.mu.Lock()
	i.listening, i.closed = true, make(chan struct{})
	i.next = b.clock + 1/i.rate
	b.mu.Unlock()
	b.notify()
	return &listenedPort{Port: p, leave: sync.OnceFunc(i.left)}, i.name, nil
}

// discard drops what an earlier listener left unread.
func discard(p device.Port) error {
	if err := p.SetReadTimeout(time.Millisecond); err != nil {
		return err
	}
	var buf [256]byte
	for {
		n, err := p.Read(buf[:])
		if err != nil {
			return fmt.Errorf("clear the line: %w", err)
		}
		if n == 0 {
			return p.SetReadTimeout(0)
		}
	}
}

// left notes that nobody listens any more.
func (i *Instrument) left() {
	i.bench.mu.Lock()
	i.listening = false
	close(i.closed)
	i.bench.mu.Unlock()
	i.bench.notify()
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
func (i *Instrument) Ack() {
	select {
	case i.acks <- struct{}{}:
	default:
	}
}

// line is the text at i.next; the line after it is put on the clock. The
// caller holds bench.mu.
func (i *Instrument) line() []byte {
	at := i.next
	i.next = at + 1/i.rate
	return []byte(i.gauge.line(at) + "\r\n")
}

// unpluggedTurn is how long, in real time, an unplugged gauge takes to miss its
// turn.
const unpluggedTurn = 10 * time.Millisecond

// emit sends a line and waits until it is dealt with, the listener leaves, or
// nobody acknowledges.
func (i *Instrument) emit(ctx context.Context, line []byte) {
	i.mu.Lock()
	w := i.wire
	i.mu.Unlock()
	i.bench.mu.Lock()
	closed := i.closed
	i.bench.mu.Unlock()
	select {
	case <-i.acks: // of a line given up
	default:
	}
	patience := i.bench.config.AckWait
	switch {
	case w == nil || w.write(line) != nil:
		patience = unpluggedTurn
	case i.bench.config.FreeRunning:
		return
	}
	wait := time.NewTimer(patience)
	defer wait.Stop()
	select {
	case <-ctx.Done():
	case <-i.acks:
	case <-closed:
	case <-wait.C:
	}
}

// Unplug pulls the gauge's cable: its listener finds the port gone.
func (i *Instrument) Unplug() {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.wire != nil {
		i.wire.close()
		i.wire = nil
	}
}

// Replug plugs the gauge in again, as another device under the same name. It
// does nothing while plugged in.
func (i *Instrument) Replug() error {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.wire != nil {
		return nil
	}
	w, err := newWire(i.name)
	if err != nil {
		return fmt.Errorf("port for the simulated %s: %w", i.label, err)
	}
	i.wire = w
	return nil
}
