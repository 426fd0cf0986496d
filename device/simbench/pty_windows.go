package simbench

import (
	"context"
	"errors"
	"net"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"crownlog/device"
)

// A memoryWire carries lines inside the process: Windows has no
// pseudo-terminal that opens as a serial port.
type memoryWire struct {
	mu  sync.Mutex
	end net.Conn // the bench's, of the pipe to the reader who opened last
}

// newWire returns a wire that nobody has opened: what is written fails.
func newWire(string) (wire, error) {
	ours, theirs := net.Pipe()
	return &memoryWire{end: ours}, theirs.Close()
}

func (w *memoryWire) open(context.Context) (device.Port, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	ours, theirs := net.Pipe()
	w.end = ours
	return &memoryPort{Conn: theirs}, nil
}

func (w *memoryWire) write(p []byte) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.end.SetWriteDeadline(time.Now().Add(writeWait)); err != nil {
		return err
	}
	_, err := w.end.Write(p)
	return err
}

func (w *memoryWire) close() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.end.Close()
}

// A memoryPort is the reader's end of a memoryWire.
type memoryPort struct {
	net.Conn
	timeout atomic.Int64 // of Read; <= 0: none
}

// Read returns the next bytes, or (0, nil) when the read timeout passes.
func (p *memoryPort) Read(buf []byte) (int, error) {
	var end time.Time
	if d := time.Duration(p.timeout.Load()); d > 0 {
		end = time.Now().Add(d)
	}
	if err := p.SetReadDeadline(end); err != nil {
		return 0, err
	}
	n, err := p.Conn.Read(buf)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = nil
	}
	return n, err
}

// Write drops what the reader sends: these gauges only talk.
func (p *memoryPort) Write(b []byte) (int, error) { return len(b), nil }

// SetReadTimeout bounds the next Reads.
func (p *memoryPort) SetReadTimeout(d time.Duration) error {
	p.timeout.Store(int64(d))
	return nil
}
