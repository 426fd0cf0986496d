package device

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"syscall"

	"go.bug.st/serial"

	"crownlog/device/frame"
)

// openPort opens the serial port name with the settings s, for this program
// alone, and says what the name led to. Where was is given it must still lead
// there. Any error is a *PortError. The library opens the port and sets its line;
// it is read and written through the poller of the runtime where that can wait for
// it, for a Read of the library keeps a thread and costs eight times as much.
func openPort(name string, s Serial, was origin) (Port, origin, error) {
	mode, err := s.mode()
	if err != nil {
		return nil, origin{}, &PortError{Port: name, Reason: PortBadSetting, Err: err}
	}
	l, path, err := lockPort(name, was)
	if err != nil {
		return nil, origin{}, openError(name, err)
	}
	port, err := serial.Open(path, mode)
	if err != nil {
		l.Close()
		return nil, origin{}, openError(name, err)
	}
	if err = setSignals(port, s); err == nil && (s.Flow == FlowHardware || s.Flow == FlowSoftware) {
		err = l.setFlow(port, s.Flow)
	}
	p := NewConnPort(name, l.takeOver(port, name))
	if err != nil {
		p.Close()
		return nil, origin{}, &PortError{Port: name, Reason: PortBadSetting, Err: err}
	}
	return p, l.origin, nil
}

// setSignals sets what the library takes only after opening. A line without modem
// signals, such as a pseudo-terminal, ignores DTR and RTS.
func setSignals(port serial.Port, s Serial) error {
	to := func(level *bool, set func(bool) error) (err error) {
		if level != nil {
			err = set(*level)
		}
		if unsupported(err) {
			return nil
		}
		return err
	}
	return cmp.Or(to(s.DTR, port.SetDTR), to(s.RTS, port.SetRTS))
}

// filled returns s with its defaults spelled out.
func (s Serial) filled() Serial {
	s.Baud, s.DataBits, s.StopBits = cmp.Or(s.Baud, 9600), cmp.Or(s.DataBits, 8), cmp.Or(s.StopBits, "1")
	s.Parity, s.Flow = cmp.Or(s.Parity, "none"), cmp.Or(s.Flow, "none")
	return s
}

// mode checks s and turns it into the library's form.
func (s Serial) mode() (*serial.Mode, error) {
	s = s.filled()
	// In the order of the library's constants.
	parity := slices.Index([]string{"none", "odd", "even", "mark", "space"}, s.Parity)
	stop := slices.Index([]string{"1", "1.5", "2"}, s.StopBits)
	m := &serial.Mode{BaudRate: s.Baud, DataBits: s.DataBits, Parity: serial.Parity(parity), StopBits: serial.StopBits(stop)}
	return m, cmp.Or(
		frame.Want(m.BaudRate > 0, "baud", s.Baud, "more than 0"),
		frame.Want(m.DataBits >= 5 && m.DataBits <= 8, "data_bits", s.DataBits, "5, 6, 7 or 8"),
		frame.Want(parity >= 0, "parity", s.Parity, "none, odd, even, mark or space"),
		frame.Want(stop >= 0, "stop_bits", s.StopBits, "1, 1.5 or 2"),
		frame.WantOneOf("flow", s.Flow, "none, rts-cts or xon-xoff"),
		frame.Want(s.Flow != FlowHardware || s.RTS == nil, "flow", s.Flow, "no level of rts beside it, which it drives"),
	)
}

// openError names a failure to open by the library's code, and where that says
// nothing by the error of the system. The code for "no serial port" has several
// causes, which only its text tells apart.
func openError(name string, err error) error {
	if errors.Is(err, &PortError{}) {
		return err
	}
	errno, _ := errors.AsType[syscall.Errno](err)
	e := &PortError{Port: name, Reason: cmp.Or(systemReasons[errno], PortFailed), Err: err}
	if pe, ok := errors.AsType[*serial.PortError](err); ok {
		switch pe.Code() {
		case serial.PortBusy:
			e.Reason = PortBusy
		case serial.PortNotFound:
			e.Reason = PortMissing
		case serial.InvalidSerialPort:
			if e.Reason = PortNotSerial; strings.Contains(err.Error(), "configuring port") {
				e.Reason = PortBadSetting
			}
		}
	}
	switch e.Reason {
	case PortDenied:
		e.Group, e.Err = deviceGroup(name), nil
	case PortMissing, PortBusy, PortIsDir, PortNotSerial:
		e.Err = nil // it says nothing more
	}
	return e
}

// A PortInfo is a serial port of this computer.
type PortInfo struct {
	Name    string `json:"name"` // what to open: "/dev/ttyUSB0", "COM3"
	Link    string `json:"link"` // a name that stays the same, where the system keeps one
	USB     bool   `json:"usb"`
	Vendor  string `json:"vendor"`  // USB vendor, four hex digits in upper case
	Product string `json:"product"` // USB product, four hex digits in upper case
	Serial  string `json:"serial"`  // USB serial number, "" where the device has none
	Maker   string `json:"maker"`   // as the device names its maker
	Title   string `json:"title"`   // as the device names itself
	Path    string `json:"path"`    // the socket it is in and its part of the device, "1-1.4:1.0"; "" where the system does not tell
}

// hasIdentity reports whether the device can be known again under another name.
func (p PortInfo) hasIdentity() bool { return p.Vendor != "" || p.Path != "" }

// sameKind reports whether the two say the same of themselves. Many bridges
// have no serial number, or that of all their kind.
func (p PortInfo) sameKind(q PortInfo) bool {
	return p.Vendor == q.Vendor && p.Product == q.Product && p.Serial == q.Serial && p.part() == q.part()
}

// part tells the ports of one device apart.
func (p PortInfo) part() string {
	_, part, _ := strings.Cut(p.Path, ":")
	return part
}

// at reports whether the two are in one socket; where the system does not tell
// the sockets, it keeps a name for each.
func (p PortInfo) at(q PortInfo) bool { return p.Path == q.Path && (p.Path != "" || p.Name == q.Name) }

// kindOf returns the ports that say the same of themselves as want.
func kindOf(want PortInfo, ports []PortInfo) []PortInfo {
	return slices.DeleteFunc(slices.Clone(ports), func(p PortInfo) bool { return !p.sameKind(want) })
}
