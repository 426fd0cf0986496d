package device

import (
	"errors"
	"os"
	"reflect"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"go.bug.st/serial"
	"golang.org/x/sys/windows"
)

// A line: the system opens a serial port for one program only, and keeps its
// name for the device.
type line struct{ origin origin }

func lockPort(name string, _ origin) (*line, string, error) { return &line{}, name, nil }

// Close: nothing is held before the library has opened the port.
func (*line) Close() error { return nil }

// handle is that of the library, which keeps it to itself. There is no other: a
// port is open once. Flow control alone needs it.
func handle(port serial.Port) windows.Handle {
	return windows.Handle(reflect.ValueOf(port).Elem().FieldByName("handle").Uint())
}

// setFlow sets the flow control, which the library turns off.
// Source: the system's winbase.h, DCB: fOutxCtsFlow, fOutX, fInX, fRtsControl.
func (*line) setFlow(port serial.Port, flow string) error {
	const outCTS, outX, inX, rtsMask, rtsHandshake = 0x4, 0x100, 0x200, 0x3000, 0x2000
	var dcb windows.DCB
	if err := windows.GetCommState(handle(port), &dcb); err != nil {
		return err
	}
	if flow == FlowHardware {
		dcb.Flags = dcb.Flags&^rtsMask | outCTS | rtsHandshake
	} else {
		dcb.Flags |= outX | inX
	}
	return windows.SetCommState(handle(port), &dcb)
}

// takeOver reads and writes with the library, whose port the runtime cannot wait for.
func (*line) takeOver(port serial.Port, _ string) Conn { return &comPort{port: port} }

// A comPort is a port of the library. That closes its handle while a Read or Write may
// still use its number, which another file may have got by then; here the last user
// closes: Close sets closed, waits for Write to leave, then for Read, and closes. Both
// look at closed before each of their short steps.
type comPort struct {
	port              serial.Port
	closed            atomic.Bool
	readEnd, writeEnd atomic.Int64 // Unix time in ns; of Read below 0, as of the zero time: none
	reading, writing  sync.Mutex
}

// Read implements Conn.
func (c *comPort) Read(b []byte) (n int, err error) {
	c.reading.Lock()
	defer c.reading.Unlock()
	for n == 0 && err == nil && len(b) > 0 {
		wait, end := pollEvery, c.readEnd.Load()
		if end > 0 {
			wait = min(wait, time.Until(time.Unix(0, end)))
		}
		if c.closed.Load() {
			return 0, os.ErrClosed
		}
		if wait <= 0 {
			return 0, os.ErrDeadlineExceeded
		}
		if err = c.port.SetReadTimeout(max(wait, time.Millisecond)); err == nil { // the driver's clock has no less
			n, err = c.port.Read(b)
		}
	}
	return n, err
}

// Write implements Conn. What the line has not taken in its time is thrown away.
func (c *comPort) Write(b []byte) (done int, err error) {
	c.writing.Lock()
	defer c.writing.Unlock()
	for done < len(b) && err == nil {
		left := time.Until(time.Unix(0, c.writeEnd.Load()))
		if c.closed.Load() {
			return done, os.ErrClosed
		}
		if left <= 0 {
			return done, os.ErrDeadlineExceeded
		}
		late := time.AfterFunc(left, func() { c.port.ResetOutputBuffer() })
		var n int
		n, err = c.port.Write(b[done:])
		late.Stop()
		if done += n; errors.Is(err, windows.ERROR_OPERATION_ABORTED) {
			err = nil
		}
	}
	return done, err
}

// SetReadDeadline implements Conn.
func (c *comPort) SetReadDeadline(t time.Time) error {
	c.readEnd.Store(t.UnixNano())
	return nil
}

// SetWriteDeadline implements Conn.
func (c *comPort) SetWriteDeadline(t time.Time) error {
	c.writeEnd.Store(t.UnixNano())
	return nil
}

// Close implements Conn.
func (c *comPort) Close() error {
	c.closed.Store(true)
	c.writing.Lock()
	defer c.writing.Unlock()
	c.reading.Lock()
	defer c.reading.Unlock()
	return c.port.Close()
}

func deviceGroup(string) string { return "" }

// systemReasons are what errors of the operating system mean.
var systemReasons = map[syscall.Errno]PortReason{windows.ERROR_FILE_NOT_FOUND: PortMissing, windows.ERROR_PATH_NOT_FOUND: PortMissing}

// unsupported reports whether the line has no such signal.
func unsupported(err error) bool { return errors.Is(err, windows.ERROR_INVALID_FUNCTION) }
