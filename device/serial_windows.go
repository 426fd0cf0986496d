package device

import (
	"errors"
	"io/fs"

	"golang.org/x/sys/windows"
)

// checkPath: a port name such as COM3 is not a path.
func checkPath(string) error { return nil }

// lockPort: the system opens a serial port for one program only.
func lockPort(string) (func(), error) { return func() {}, nil }

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
