package simbench

import (
	"context"
	"sync"
	"time"

	"crownlog/device"
)

// A memoryWire carries lines inside the process: Windows has no
// pseudo-terminal that opens as a serial port.
type memoryWire struct {
	name   string
	lines  chan []byte
	gone   chan struct{}
	goOnce sync.Once
}

func newWire(name string) (wire, error) {
	return &memoryWire{name: name, lines: make(chan []byte, 64), gone: make(chan struct{})}, nil
}

func (w *memoryWire) write(p []byte) error {
	select {
	case w.lines <- p:
		return nil
	case <-w.gone:
		return &device.PortError{Port: w.name, Reason: device.PortGone}
	}
}

func (w *memoryWire) open(context.Context) (device.Port, error) {
	return &memoryPort{wire: w, closed: make(chan struct{})}, nil
}

func (w *memoryWire) close() { w.goOnce.Do(func() { close(w.gone) }) }

// A memoryPort is the reader's end of a memoryWire.
type memoryPort struct {
	wire   *memoryWire
	rest   []byte // of a line longer than the reader's buffer
	closed chan struct{}
	once   sync.Once

	mu      sync.Mutex
	timeout time.Duration
}

// Read returns the next bytes, or (0, nil) when the read timeout passes.
func (p *memoryPort) Read(buf []byte) (int, error) {
	if len(p.rest) == 0 {
		p.mu.Lock()
		timeout := p.timeout
		p.mu.Unlock()
		var late <-chan time.Time
		if timeout > 0 {
			timer := time.NewTimer(timeout)
			defer timer.Stop()
			late = timer.C
		}
		select {
		case p.rest = <-p.wire.lines:
		case <-late:
			return 0, nil
		case <-p.closed:
			return 0, &device.PortError{Port: p.wire.name, Reason: device.PortClosed}
		case <-p.wire.gone:
			return 0, &device.PortError{Port: p.wire.name, Reason: device.PortGone}
		}
	}
	n := copy(buf, p.rest)
	p.rest = p.rest[n:]
	return n, nil
}

// Write drops what the reader sends: these gauges only talk.
func (p *memoryPort) Write(b []byte) (int, error) { return len(b), nil }

// Close ends a blocked Read.
func (p *memoryPort) Close() error {
	p.once.Do(func() { close(p.closed) })
	return nil
}

// SetReadTimeout bounds the next Reads.
func (p *memoryPort) SetReadTimeout(d time.Duration) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.timeout = d
	return nil
}
