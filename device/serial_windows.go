package device

import (
	"errors"
	"io/fs"
	"os"
	"reflect"

	"go.bug.st/serial"
	"golang.org/x/sys/windows"
)

// A line: the system opens a serial port for one program only, and keeps its
// name for the device.
type line struct {
	path   string
	origin origin
}

func lockPort(name string, _ origin) (*line, error) { return &line{path: name}, nil }

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

// takeOver reads and writes with the library's handle, by the runtime's deadlines.
func (l *line) takeOver(port serial.Port) Conn { return os.NewFile(uintptr(handle(port)), l.path) }

func deviceGroup(string) string { return "" }

// systemReason is what an error of the operating system means, "" for others.
func systemReason(err error) PortReason {
	if errors.Is(err, fs.ErrNotExist) {
		return PortMissing
	}
	return ""
}

// unsupported reports whether the line has no such signal.
func unsupported(err error) bool { return errors.Is(err, windows.ERROR_INVALID_FUNCTION) }
