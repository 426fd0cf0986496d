//go:build unix

package device

import (
	"errors"
	"io"
	"os"
	"runtime"
	"sync/atomic"
	"time"

	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

// A polledPort reads and writes its line through the poller of the runtime,
// where a Read that waits keeps no thread and wakes nobody. The library opened
// the line and set it. The handle is the lock's, which was opened before the
// library forbade a second one. Close of it waits for who uses it, so no Write
// reaches another file that got its number.
type polledPort struct {
	name    string
	line    serial.Port
	lock    portLock
	closed  atomic.Bool
	timeout atomic.Int64 // of Read; <= 0: none
}

// pollable is the handle as a file of the runtime's poller, nil where that is
// not known to take terminals.
func pollable(fd int, name string) *os.File {
	if runtime.GOOS != "linux" {
		return nil
	}
	return os.NewFile(uintptr(fd), name)
}

// polled returns p read through the poller where there is one.
func (p *serialPort) polled() Port {
	if p.lock.file == nil {
		return p
	}
	return &polledPort{name: p.name, line: p.port, lock: p.lock}
}

// Read implements Port.
func (p *polledPort) Read(b []byte) (n int, err error) {
	var until time.Time
	if d := time.Duration(p.timeout.Load()); d > 0 {
		until = time.Now().Add(d)
	}
	if err = p.lock.file.SetReadDeadline(until); err == nil {
		n, err = p.lock.file.Read(b)
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return 0, nil
	}
	return n, p.named(err)
}

// Write implements Port. A line that takes nothing for writePatience is a
// *PortError with PortStuck.
func (p *polledPort) Write(b []byte) (done int, err error) {
	for done < len(b) {
		n := 0
		if err = p.lock.file.SetWriteDeadline(time.Now().Add(writePatience)); err == nil {
			n, err = p.lock.file.Write(b[done:])
		}
		done += n
		late := errors.Is(err, os.ErrDeadlineExceeded)
		switch {
		case late && n == 0:
			return done, &PortError{Port: p.name, Reason: PortStuck}
		case err != nil && !late:
			return done, p.named(err)
		}
	}
	return done, nil
}

// SetReadTimeout implements Port.
func (p *polledPort) SetReadTimeout(d time.Duration) error {
	p.timeout.Store(int64(d))
	if p.closed.Load() {
		return &PortError{Port: p.name, Reason: PortClosed}
	}
	return nil
}

// Close implements Port.
func (p *polledPort) Close() error {
	if p.closed.Swap(true) {
		return nil
	}
	p.lock.release()
	if err := p.line.Close(); err != nil {
		return &PortError{Port: p.name, Reason: PortFailed, Err: err}
	}
	return nil
}

// named names a failure of an open line. One that was unplugged is at its end,
// or gives an error of input and output.
func (p *polledPort) named(err error) error {
	switch {
	case err == nil:
		return nil
	case p.closed.Load():
		return &PortError{Port: p.name, Reason: PortClosed}
	case errors.Is(err, io.EOF), errors.Is(err, unix.EIO):
		return &PortError{Port: p.name, Reason: PortGone}
	}
	return &PortError{Port: p.name, Reason: PortGone, Err: err}
}
