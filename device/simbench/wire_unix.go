//go:build unix

package simbench

import (
	"os"

	"github.com/creack/pty"
	"golang.org/x/term"

	"crownlog/device"
)

// A terminal is the bench's end of a pseudo-terminal.
type terminal struct {
	*os.File          // the master
	slave    *os.File // kept open, so that its settings stay
	name     string   // of the link to the slave
}

// newWire makes a pseudo-terminal and puts name in front of it. It returns the
// bench's end, and what opens the gauge's port: the code that opens a serial port.
func newWire(name string) (device.Conn, device.Opener, error) {
	master, slave, err := pty.Open()
	if err != nil {
		return nil, nil, err
	}
	t := terminal{master, slave, name}
	if _, err = term.MakeRaw(int(slave.Fd())); err == nil {
		err = os.Symlink(slave.Name(), name)
	}
	if err != nil {
		t.Close()
		return nil, nil, err
	}
	return t, device.PortOpener(name, device.Serial{}), nil
}

// Close implements device.Conn.
func (t terminal) Close() error {
	os.Remove(t.name)
	t.slave.Close()
	return t.File.Close()
}
