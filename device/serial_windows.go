package device

import (
	"errors"
	"io"
	"os"
	"reflect"
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
// port is open once.
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

// takeOver reads and writes with the library's handle.
func (*line) takeOver(port serial.Port, name string) Conn {
	return &comPort{File: os.NewFile(uintptr(handle(port)), name), port: port}
}

// A comPort waits for bytes as the driver does. A Read that the runtime breaks off may
// have taken some, which are lost with a driver that does not hand them on at once.
type comPort struct {
	*os.File
	port serial.Port
	end  time.Time // of Read; zero: none
}

// SetReadDeadline implements Conn.
func (c *comPort) SetReadDeadline(t time.Time) error {
	c.end = t
	return nil
}

// Read implements Conn.
func (c *comPort) Read(b []byte) (int, error) {
	for {
		wait := pollEvery
		if !c.end.IsZero() {
			wait = min(wait, time.Until(c.end))
		}
		if wait <= 0 {
			return 0, os.ErrDeadlineExceeded
		}
		if err := c.port.SetReadTimeout(max(wait, time.Millisecond)); err != nil { // the driver's clock has no less
			return 0, err
		}
		if n, err := c.File.Read(b); err != io.EOF { // which is a wait for nothing
			return n, err
		}
	}
}

func deviceGroup(string) string { return "" }

// systemReasons are what errors of the operating system mean.
var systemReasons = map[syscall.Errno]PortReason{windows.ERROR_FILE_NOT_FOUND: PortMissing, windows.ERROR_PATH_NOT_FOUND: PortMissing}

// unsupported reports whether the line has no such signal.
func unsupported(err error) bool { return errors.Is(err, windows.ERROR_INVALID_FUNCTION) }
