package device

import (
	"errors"
	"io"
	"os"
	"sync/atomic"
	"time"
)

// writePatience is how long a Write waits for a line that takes nothing. A
// question has some ten bytes, which a free line of 300 baud sends in a third of it.
const writePatience = time.Second

// A Conn is what a connection of bytes and a file have in common.
type Conn interface {
	io.ReadWriteCloser
	SetReadDeadline(t time.Time) error
	SetWriteDeadline(t time.Time) error
}

// A connPort is a connection as a Port.
type connPort struct {
	Conn
	name    string
	timeout atomic.Int64 // of Read; <= 0: none
	closed  atomic.Bool
}

// NewConnPort returns the connection as the Port name: a line of the network, or
// one end of a pipe inside the program. The Port closes it.
func NewConnPort(name string, c Conn) Port { return &connPort{Conn: c, name: name} }

// Read implements Port.
func (p *connPort) Read(b []byte) (int, error) {
	var end time.Time
	if d := time.Duration(p.timeout.Load()); d > 0 {
		end = time.Now().Add(d)
	}
	if err := p.SetReadDeadline(end); err != nil {
		return 0, p.ioError(err)
	}
	n, err := p.Conn.Read(b)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = nil
	}
	return n, p.ioError(err)
}

// Write implements Port. What is not taken for writePatience is a *PortError
// with PortStuck.
func (p *connPort) Write(b []byte) (int, error) {
	if err := p.SetWriteDeadline(time.Now().Add(writePatience)); err != nil {
		return 0, p.ioError(err)
	}
	n, err := p.Conn.Write(b)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return n, &PortError{Port: p.name, Reason: PortStuck}
	}
	return n, p.ioError(err)
}

// SetReadTimeout implements Port.
func (p *connPort) SetReadTimeout(d time.Duration) error {
	p.timeout.Store(int64(d))
	return nil
}

// Close implements Port.
func (p *connPort) Close() error {
	if p.closed.Swap(true) {
		return nil
	}
	return p.Conn.Close()
}

// ioError names a failure of an open connection.
func (p *connPort) ioError(err error) error {
	switch {
	case err == nil:
		return nil
	case p.closed.Load():
		return &PortError{Port: p.name, Reason: PortClosed}
	case errors.Is(err, io.EOF): // nothing more to say
		err = nil
	}
	return &PortError{Port: p.name, Reason: PortGone, Err: err}
}
