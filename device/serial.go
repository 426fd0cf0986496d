package device

import (
	"cmp"
	"errors"
	"io"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"go.bug.st/serial"

	"crownlog/device/frame"
)

const (
	// readSlice bounds one Read of the line, so that Close never takes the
	// descriptor away under a Read: it waits for the Read to leave, and a user
	// who quits does not notice so short a wait.
	readSlice = 100 * time.Millisecond
	// writePatience is how long a Write waits for a line that takes nothing. A
	// question has some ten bytes, which a free line of 300 baud sends in a
	// third of it.
	writePatience = time.Second
)

// A serialPort keeps the library's port safe to close from anywhere. The
// library closes the descriptor while a Read or Write may still use its
// number, which another file may have got by then; here the last user closes.
//
//	Close sets closed, waits for Write to leave, then for Read, and closes
//	Read and Write look at closed before each of their short steps
type serialPort struct {
	name    string
	port    serial.Port
	lock    portLock
	closed  atomic.Bool
	timeout atomic.Int64 // of Read; <= 0: none
	slice   atomic.Int64 // of one Read of the line
	reading sync.Mutex
	writing sync.Mutex
}

// openPort opens the serial port name with the settings s, for this program
// alone, and says what the name led to. Where was is given it must still lead
// there. Any error is a *PortError.
func openPort(name string, s Serial, was origin) (Port, origin, error) {
	mode, err := s.mode()
	if err != nil {
		return nil, origin{}, &PortError{Port: name, Reason: PortBadSetting, Err: err}
	}
	lock, err := lockPort(name, was)
	if err != nil {
		return nil, origin{}, err
	}
	port, err := serial.Open(lock.path, mode)
	if err != nil {
		lock.release()
		return nil, origin{}, openError(name, err)
	}
	p := &serialPort{name: name, port: port, lock: lock}
	if err := p.set(s); err != nil {
		p.Close()
		return nil, origin{}, err
	}
	return p, lock.origin, nil
}

// set applies what the library takes only after opening. A line without modem
// signals, such as a pseudo-terminal, ignores DTR and RTS.
func (p *serialPort) set(s Serial) error {
	if err := p.SetReadTimeout(0); err != nil {
		return err
	}
	for _, level := range []struct {
		want *bool
		set  func(bool) error
	}{{s.DTR, p.port.SetDTR}, {s.RTS, p.port.SetRTS}} {
		if level.want == nil {
			continue
		}
		if err := level.set(*level.want); err != nil && !unsupported(err) {
			return &PortError{Port: p.name, Reason: PortBadSetting, Err: err}
		}
	}
	return nil
}

// baud returns the line speed in bits per second.
func (s Serial) baud() int {
	return cmp.Or(s.Baud, 9600)
}

// mode checks s and turns it into the library's form.
func (s Serial) mode() (*serial.Mode, error) {
	m := &serial.Mode{BaudRate: s.baud(), DataBits: cmp.Or(s.DataBits, 8)}
	parity := map[string]serial.Parity{"": serial.NoParity, "none": serial.NoParity, "odd": serial.OddParity,
		"even": serial.EvenParity, "mark": serial.MarkParity, "space": serial.SpaceParity}
	stop := map[string]serial.StopBits{"": serial.OneStopBit, "1": serial.OneStopBit,
		"1.5": serial.OnePointFiveStopBits, "2": serial.TwoStopBits}
	var parityOK, stopOK bool
	m.Parity, parityOK = parity[s.Parity]
	m.StopBits, stopOK = stop[s.StopBits]
	return m, cmp.Or(
		frame.Want(m.BaudRate > 0, "baud", s.Baud, "more than 0"),
		frame.Want(m.DataBits >= 5 && m.DataBits <= 8, "data_bits", s.DataBits, "5, 6, 7 or 8"),
		frame.Want(parityOK, "parity", s.Parity, "none, odd, even, mark or space"),
		frame.Want(stopOK, "stop_bits", s.StopBits, "1, 1.5 or 2"),
	)
}

// Read implements Port.
func (p *serialPort) Read(b []byte) (int, error) {
	p.reading.Lock()
	defer p.reading.Unlock()
	start := time.Now()
	for {
		if p.closed.Load() {
			return 0, &PortError{Port: p.name, Reason: PortClosed}
		}
		n, err := p.lock.read(p.port, b, time.Duration(p.slice.Load()))
		if err != nil {
			return n, p.ioError(err)
		}
		if n > 0 || len(b) == 0 {
			return n, nil
		}
		if d := time.Duration(p.timeout.Load()); d > 0 && time.Since(start) >= d {
			return 0, nil
		}
	}
}

// Write implements Port. A line that takes nothing for writePatience is a
// *PortError with PortStuck.
func (p *serialPort) Write(b []byte) (int, error) {
	p.writing.Lock()
	defer p.writing.Unlock()
	done := 0
	moved := time.Now()
	for done < len(b) {
		if p.closed.Load() {
			return done, &PortError{Port: p.name, Reason: PortClosed}
		}
		n, err := p.lock.write(p.port, b[done:])
		done += n
		switch {
		case err != nil:
			return done, p.ioError(err)
		case n > 0:
			moved = time.Now()
		case time.Since(moved) >= writePatience:
			return done, &PortError{Port: p.name, Reason: PortStuck}
		}
	}
	return done, nil
}

// SetReadTimeout implements Port.
func (p *serialPort) SetReadTimeout(d time.Duration) error {
	p.timeout.Store(int64(d))
	slice := readSlice
	if d > 0 {
		slice = min(d, readSlice)
	}
	p.slice.Store(int64(slice))
	p.reading.Lock()
	defer p.reading.Unlock()
	if p.closed.Load() {
		return &PortError{Port: p.name, Reason: PortClosed}
	}
	if err := p.port.SetReadTimeout(slice); err != nil {
		return &PortError{Port: p.name, Reason: PortFailed, Err: err}
	}
	return nil
}

// Close implements Port.
func (p *serialPort) Close() error {
	if p.closed.Swap(true) {
		return nil
	}
	p.writing.Lock()
	defer p.writing.Unlock()
	p.reading.Lock()
	defer p.reading.Unlock()
	err := p.port.Close()
	p.lock.release()
	if err != nil {
		return &PortError{Port: p.name, Reason: PortFailed, Err: err}
	}
	return nil
}

// ioError names a failure of an open port. The library says "closed" both for
// our own Close and for a device that went away, whose line is at its end.
func (p *serialPort) ioError(err error) error {
	if p.closed.Load() {
		return &PortError{Port: p.name, Reason: PortClosed}
	}
	var pe *serial.PortError
	if errors.As(err, &pe) && pe.Code() == serial.PortClosed || errors.Is(err, io.EOF) {
		return &PortError{Port: p.name, Reason: PortGone}
	}
	return &PortError{Port: p.name, Reason: PortGone, Err: err}
}

// openError names a failure to open by the library's code, and where that says
// nothing by the error of the system. The code for "no serial port" has several
// causes, which only its text tells apart.
func openError(name string, err error) error {
	e := &PortError{Port: name, Reason: PortFailed, Err: err}
	pe, ok := errors.AsType[*serial.PortError](err)
	if !ok {
		return systemOpenError(e, err)
	}
	switch text := err.Error(); pe.Code() {
	case serial.PortBusy:
		e.Reason, e.Err = PortBusy, nil
	case serial.PortNotFound:
		e.Reason, e.Err = PortMissing, nil
	case serial.PermissionDenied:
		return deniedError(name)
	case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
		e.Reason = PortBadSetting
	case serial.InvalidSerialPort:
		if e.Reason = PortNotSerial; strings.Contains(text, "configuring port") {
			e.Reason = PortBadSetting
		} else if strings.Contains(text, "inappropriate ioctl") {
			e.Err = nil
		}
	}
	return e
}
