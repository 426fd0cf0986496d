//go:build unix

package device

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A peer is the gauge's end of a pseudo-terminal, reached by a symbolic link
// that stays while terminals come and go.
type peer struct {
	t      *testing.T
	link   string
	master *os.File
	slave  *os.File // held until a reader has the port, so that nothing is lost
}

func newPeer(t *testing.T) *peer {
	t.Helper()
	p := &peer{t: t, link: filepath.Join(t.TempDir(), "gauge")}
	p.plug()
	t.Cleanup(func() {
		p.slave.Close()
		p.master.Close()
	})
	return p
}

// plug opens a new terminal behind the link.
func (p *peer) plug() {
	p.t.Helper()
	master, slave, err := pty.Open()
	require.NoError(p.t, err)
	raw, err := unix.IoctlGetTermios(int(slave.Fd()), getTermios)
	require.NoError(p.t, err)
	raw.Iflag, raw.Oflag, raw.Lflag = 0, 0, 0
	require.NoError(p.t, unix.IoctlSetTermios(int(slave.Fd()), setTermios, raw))
	p.master, p.slave = master, slave
	next := p.link + ".next"
	require.NoError(p.t, os.Symlink(slave.Name(), next))
	require.NoError(p.t, os.Rename(next, p.link))
}

// unplug pulls the cable.
func (p *peer) unplug() {
	p.t.Helper()
	require.NoError(p.t, os.Remove(p.link))
	require.NoError(p.t, p.slave.Close())
	require.NoError(p.t, p.master.Close())
}

// openAny opens a port for the first time.
func openAny(name string, s Serial) (Port, error) {
	port, _, err := openPort(name, s, origin{})
	return port, err
}

func (p *peer) send(b []byte) {
	p.t.Helper()
	_, err := p.master.Write(b)
	require.NoError(p.t, err)
}

// play sends the pieces while the test listens.
func (p *peer) play(pieces [][]byte) {
	done := make(chan struct{})
	p.t.Cleanup(func() { <-done })
	go func() {
		defer close(done)
		for _, b := range pieces {
			if _, err := p.master.Write(b); err != nil {
				return
			}
		}
	}()
}

// A listener collects the events of a running gauge.
type listener struct {
	t      *testing.T
	events chan Event
	stop   func()
	all    []Event
}

// listen runs a gauge with the profile until the test or stop ends it.
func listen(t *testing.T, p Profile, open Opener) *listener {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	l := &listener{t: t, events: make(chan Event, 16)}
	g := NewGauge("dial", p, open, time.Now)
	done := make(chan error, 1)
	go func() { done <- g.Run(ctx, l.events) }()
	l.stop = sync.OnceFunc(func() {
		cancel()
		for {
			select {
			case ev := <-l.events:
				l.all = append(l.all, ev)
			case err := <-done:
				require.NoError(t, err)
				return
			}
		}
	})
	t.Cleanup(l.stop)
	return l
}

// until collects events until one is what the test waits for.
func (l *listener) until(what func(Event) bool) {
	l.t.Helper()
	limit := time.After(10 * time.Second)
	for {
		select {
		case ev := <-l.events:
			l.all = append(l.all, ev)
			if what(ev) {
				return
			}
		case <-limit:
			require.FailNow(l.t, "waited in vain", "last events: %v", l.all[max(0, len(l.all)-5):])
		}
	}
}

func (l *listener) untilRaw(raw string) {
	l.t.Helper()
	l.until(func(ev Event) bool { return ev.Kind == EventReading && ev.Reading.Raw == raw })
}

func (l *listener) untilKind(k EventKind) {
	l.t.Helper()
	l.until(func(ev Event) bool { return ev.Kind == k })
}

// raws returns the raw texts of the readings so far.
func (l *listener) raws() []string {
	var list []string
	for _, ev := range l.all {
		if ev.Kind == EventReading {
			list = append(list, ev.Reading.Raw)
		}
	}
	return list
}

func (l *listener) count(k EventKind) int {
	n := 0
	for _, ev := range l.all {
		if ev.Kind == k {
			n++
		}
	}
	return n
}
