//go:build unix

package simbench

import (
	"context"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/creack/pty"
	"golang.org/x/term"

	"crownlog/device"
)

// A ptyWire is a pseudo-terminal: the bench holds the master, and the slave
// under a stable name is the gauge's port.
type ptyWire struct {
	name          string
	master, slave *os.File // the slave is kept open, so that its settings stay
	once          sync.Once
}

// newWire makes a pseudo-terminal and puts name in front of it.
func newWire(name string) (wire, error) {
	master, slave, err := pty.Open()
	if err != nil {
		return nil, err
	}
	w := &ptyWire{name: name, master: master, slave: slave}
	if _, err := term.MakeRaw(int(slave.Fd())); err != nil {
		w.close()
		return nil, fmt.Errorf("raw mode: %w", err)
	}
	if err := os.Symlink(slave.Name(), name); err != nil {
		w.close()
		return nil, err
	}
	return w, nil
}

func (w *ptyWire) write(p []byte) error {
	if err := w.master.SetWriteDeadline(time.Now().Add(writeWait)); err != nil {
		return err
	}
	_, err := w.master.Write(p)
	return err
}

func (w *ptyWire) open(ctx context.Context) (device.Port, error) {
	p, _, err := device.SerialOpener(w.name, device.Serial{})(ctx)
	return p, err
}

func (w *ptyWire) close() {
	w.once.Do(func() {
		os.Remove(w.name)
		w.slave.Close()
		w.master.Close()
	})
}
