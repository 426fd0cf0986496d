package simbench

import (
	"context"
	"net"
	"sync"
	"time"

	"crownlog/device"
)

// An Instrument is one gauge of the bench, on a port of its own.
type Instrument struct {
	Resolution float64 // one count in mm, N·m, kPa or °C

	bench *Bench
	label string
	send  liner
	acks  chan struct{}

	// Under bench.mu.
	rate      float64 // Hz
	next      float64 // second of the next line
	listening bool
	closed    chan struct{} // closed when the listener leaves

	mu   sync.Mutex
	wire net.Conn // the bench's end of the pipe to who opened last; nil while unplugged
}

func newInstrument(b *Bench, label string, rate, resolution float64, send liner) *Instrument {
	i := &Instrument{Resolution: resolution, bench: b, label: label, send: send, rate: rate, next: 1 / rate, acks: make(chan struct{}, 1)}
	i.Replug()
	return i
}

// Open opens the gauge's port; it is a device.Opener. The gauge talks until the
// port is closed.
func (i *Instrument) Open(context.Context) (device.Port, string, error) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.wire == nil {
		return nil, i.label, &device.PortError{Port: i.label, Reason: device.PortMissing}
	}
	ours, theirs := net.Pipe()
	i.wire = ours
	b := i.bench
	b.mu.Lock()
	i.listening, i.closed = true, make(chan struct{})
	i.next = b.clock + 1/i.rate
	b.mu.Unlock()
	b.notify()
	return &listenedPort{Port: device.NewConnPort(i.label, theirs), leave: sync.OnceFunc(i.left)}, i.label, nil
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
	patience := unpluggedTurn
	if w != nil && w.SetWriteDeadline(time.Now().Add(i.bench.config.AckWait)) == nil {
		stop := context.AfterFunc(ctx, func() { w.SetWriteDeadline(time.Now()) }) // ends a Write that waits
		if _, err := w.Write(line); err == nil {
			patience = i.bench.config.AckWait
		}
		stop()
	}
	select {
	case <-ctx.Done():
	case <-i.acks:
	case <-closed:
	case <-time.After(patience):
	}
}

// Unplug pulls the gauge's cable: its listener finds the port gone.
func (i *Instrument) Unplug() {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.wire != nil {
		i.wire.Close()
		i.wire = nil
	}
}

// Replug plugs the gauge in again. It does nothing while plugged in.
func (i *Instrument) Replug() {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.wire == nil {
		i.wire, _ = net.Pipe() // to nobody yet
	}
}
