package device

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"
)

// A Port is an open connection to a gauge.
//
// Read returns (0, nil) when the read timeout passes with nothing heard, and
// an error once the port is closed or the device is gone. Close is safe to
// call twice and from another goroutine, and ends a blocked Read.
type Port interface {
	io.ReadWriteCloser
	// SetReadTimeout bounds the next Reads; zero or less waits without end.
	SetReadTimeout(d time.Duration) error
}

// Serial is how a serial line is set. The zero value means 9600 baud, eight
// data bits, no parity, one stop bit, no flow control, and DTR and RTS as the
// system leaves them.
type Serial struct {
	Baud     int    `toml:"baud,omitempty"`      // bits per second
	DataBits int    `toml:"data_bits,omitempty"` // 5 to 8
	Parity   string `toml:"parity,omitempty"`    // "none", "odd", "even", "mark" or "space"
	StopBits string `toml:"stop_bits,omitempty"` // "1", "1.5" or "2"
	DTR      *bool  `toml:"dtr,omitempty"`       // level of the DTR line after opening; nil: left alone
	RTS      *bool  `toml:"rts,omitempty"`       // level of the RTS line after opening; nil: left alone
	Flow     string `toml:"flow,omitempty"`      // how either end is told to wait: "none" (the default), "rts-cts" or "xon-xoff"
}

// The kinds of flow control that a line is set to.
const (
	FlowHardware = "rts-cts"
	FlowSoftware = "xon-xoff"
)

// A PortReason says why a port could not be opened or used.
type PortReason string

// The reasons in a PortError.
const (
	PortMissing    PortReason = "no such port"
	PortBusy       PortReason = "port is in use by another program"
	PortDenied     PortReason = "no permission to open the port"
	PortIsDir      PortReason = "is a directory, not a serial port"
	PortNotSerial  PortReason = "is not a serial port"
	PortBadSetting PortReason = "setting is not possible on this port"
	PortGone       PortReason = "device is gone"
	PortClosed     PortReason = "port is closed"
	PortSession    PortReason = "is the terminal of a session at work, not a gauge's"
	PortForeign    PortReason = "another device has its name now"
	PortTwin       PortReason = "cannot be told from another of its kind"
	PortStuck      PortReason = "the line takes no bytes, so the gauge cannot be asked"
	PortUnreached  PortReason = "cannot be reached over the network"
	PortFailed     PortReason = "port failed"
)

// A PortError is any failure to open or use a port. errors.Is compares the
// Reason alone:
//
//	errors.Is(err, &PortError{Reason: PortBusy})
type PortError struct {
	Port   string
	Reason PortReason
	Group  string // for PortDenied: the group to join, "" where there is none or it is unknown
	Err    error  // the cause, may be nil
}

func (e *PortError) Error() string {
	if e.Err == nil {
		return fmt.Sprintf("%q: %s", e.Port, string(e.Reason))
	}
	return fmt.Sprintf("%q: %s: %v", e.Port, string(e.Reason), e.Err)
}

// Unwrap returns the cause.
func (e *PortError) Unwrap() error { return e.Err }

// Is reports whether target is a *PortError with the same Reason, or with none.
func (e *PortError) Is(target error) bool {
	var t *PortError
	return errors.As(target, &t) && (t.Reason == "" || t.Reason == e.Reason)
}

// An Opener opens the port of a gauge, at first and again after it was lost.
// It returns the port and the name it was found under. It tries once.
type Opener func(ctx context.Context) (Port, string, error)
