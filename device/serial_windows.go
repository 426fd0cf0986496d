package device

import (
	"errors"
	"io/fs"
	"time"

	"go.bug.st/serial"
	"golang.org/x/sys/windows"
)

// A portLock: the system opens a serial port for one program only, and keeps
// its name for the device.
type portLock struct {
	path   string
	origin origin
}

func lockPort(name string, _ origin) (portLock, error) { return portLock{path: name}, nil }

func (portLock) release() {}

func (l portLock) line(port serial.Port) Conn { return &libraryLine{port: port, lock: l} }

// write gives the line its time and then throws away what it has not taken.
func (portLock) write(port serial.Port, b []byte) (int, error) {
	late := time.AfterFunc(writePatience, func() { port.ResetOutputBuffer() })
	defer late.Stop()
	n, err := port.Write(b)
	if errors.Is(err, windows.ERROR_OPERATION_ABORTED) {
		err = nil
	}
	return n, err
}

// deniedError: the system reports a port in use as one that is denied.
func deniedError(name string) error { return &PortError{Port: name, Reason: PortBusy} }

func systemOpenError(e *PortError, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		e.Reason, e.Err = PortMissing, nil
	}
	return e
}

// unsupported reports whether the line has no such signal.
func unsupported(err error) bool { return errors.Is(err, windows.ERROR_INVALID_FUNCTION) }
