package device

import (
	"context"
	"fmt"
	"net"
	"strings"
	"time"
)

// PortOpener returns the Opener of what a port's name says:
//
//	/dev/ttyUSB0, COM3      a serial port, or a symbolic link to one
//	tcp://host:port         a bridge that hands the bytes on; its line is set by itself
//	rfc2217://host:port     a bridge whose line is set from here (RFC 2217)
//	keyboard:VVVV:PPPP      a cable that types, by its USB vendor and product in hex
//	keyboard:               one that types into this program: lines of standard input
//
// After the first opening a device of this computer is opened again only where it
// is provably the same: by its USB identity, wherever it is plugged in, or else by the
// entry in the file system that the name led to. A host is known by its name.
func PortOpener(name string, s Serial) Opener {
	switch {
	case name == ThisKeyboard:
		return inputOpener()
	case strings.HasPrefix(name, keyboardScheme):
		return keyboardOpener(name)
	case strings.Contains(name, "://"):
		return func(ctx context.Context) (Port, string, error) { return dial(ctx, name, s) }
	}
	f := follower{name: name, info: portInfo, list: ListPorts,
		open: func(path string, was origin) (Port, origin, error) { return openPort(path, s, was) }}
	return f.next
}

// On returns the profile as it is for a gauge on a port of that name: a cable that
// types does so at a press of its key.
func (p Profile) On(port string) Profile {
	if strings.HasPrefix(port, keyboardScheme) && p.Mode != ModeAsked {
		p.Sends = SendsOnPress
	}
	return p
}

// HasLine reports whether opening the port sets a serial line, so that speeds can
// be tried on it.
func HasLine(name string) bool {
	return !strings.HasPrefix(name, "tcp://") && !strings.HasPrefix(name, keyboardScheme)
}

const (
	// dialPatience is for a bridge without a cable that has to wake up.
	dialPatience = 3 * time.Second
	// A host is asked whether it is still there after hostIdle of silence, and is
	// gone after three times hostProbe without an answer: no sooner than a cable
	// that was pulled is noticed by hand.
	hostIdle, hostProbe = 5 * time.Second, 2 * time.Second
)

// dial opens a connection, and sets the line behind it where it can be set.
func dial(ctx context.Context, name string, s Serial) (Port, string, error) {
	scheme, host, _ := strings.Cut(name, "://")
	if scheme != "tcp" && scheme != "rfc2217" {
		return nil, "", &PortError{Port: name, Reason: PortNotSerial, Err: fmt.Errorf("want tcp or rfc2217 before ://, not %q", scheme)}
	}
	d := net.Dialer{Timeout: dialPatience, KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: hostIdle, Interval: hostProbe, Count: 3}}
	c, err := d.DialContext(ctx, "tcp", host)
	if err != nil {
		return nil, "", &PortError{Port: name, Reason: PortUnreached, Err: err}
	}
	if scheme == "tcp" {
		return NewConnPort(name, c), name, nil
	}
	t := &telnetConn{Conn: c}
	if err := t.setLine(s); err != nil {
		c.Close()
		return nil, "", &PortError{Port: name, Reason: PortBadSetting, Err: err}
	}
	return NewConnPort(name, t), name, nil
}
