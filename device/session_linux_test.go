package device

import (
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// terminalNamed opens terminals until one has the name, as somebody else does
// who gets the number of a lost one.
func terminalNamed(t *testing.T, name string) (master, slave *os.File) {
	t.Helper()
	for range 64 {
		master, slave, err := pty.Open()
		require.NoError(t, err)
		t.Cleanup(func() { slave.Close(); master.Close() })
		if slave.Name() == name {
			return master, slave
		}
	}
	t.Skipf("%s went to another program", name)
	return nil, nil
}

func settings(t *testing.T, terminal *os.File) unix.Termios {
	t.Helper()
	got, err := unix.IoctlGetTermios(int(terminal.Fd()), getTermios)
	require.NoError(t, err)
	return *got
}

// A terminal's number goes to the next program that asks for one. What is typed
// there is not a gauge's, and its settings stay as they are.
func TestLostTerminalIsNotTakenFromWhoHasItsNumberNow(t *testing.T) {
	for _, by := range []string{"name", "link"} {
		t.Run(by, func(t *testing.T) {
			master, slave, err := pty.Open()
			require.NoError(t, err)
			number, name := slave.Name(), slave.Name()
			if by == "link" { // nobody takes a dangling link away
				name = filepath.Join(t.TempDir(), "gauge")
				require.NoError(t, os.Symlink(number, name))
			}
			time.Sleep(10 * time.Millisecond) // one clock tick of the kernel
			l := listen(t, profile(t, "text"), PortOpener(name, Serial{}))
			_, err = master.WriteString("+0.100 mm\r\n")
			require.NoError(t, err)
			l.untilRaw("+0.100 mm")
			require.NoError(t, slave.Close())
			require.NoError(t, master.Close())
			l.untilKind(EventLost)

			other, theirs := terminalNamed(t, number)
			before := settings(t, theirs)
			l.until(func(ev Event) bool { return ev.Kind == EventLost })
			assert.Equal(t, &PortError{Port: name, Reason: PortForeign}, lastError(l, name))
			assert.Equal(t, before, settings(t, theirs))
			_, err = other.WriteString("typed\n")
			require.NoError(t, err)
			line := make([]byte, 16)
			n, err := theirs.Read(line)
			require.NoError(t, err)
			assert.Equal(t, "typed\n", string(line[:n]))
			mine, err := openAny(number, Serial{})
			require.NoError(t, err, "whoever has the number may use it")
			require.NoError(t, mine.Close())
		})
	}
}

// lastError is the error that the last event tells of a port.
func lastError(l *listener, name string) error {
	text := l.all[len(l.all)-1].Text
	for _, r := range []PortReason{PortForeign, PortSession, PortMissing, PortBusy} {
		if e := (&PortError{Port: name, Reason: r}); e.Error() == text {
			return e
		}
	}
	return nil
}

// Not at first, and not where a link leads later, is a terminal taken that
// somebody works at.
func TestTerminalOfASessionIsNeverTaken(t *testing.T) {
	p := newPeer(t)
	shell := exec.Command("sleep", "60")
	shell.Stdin = p.slave
	shell.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	require.NoError(t, shell.Start())
	t.Cleanup(func() { shell.Process.Kill(); shell.Wait() })
	before := settings(t, p.slave)
	_, err := openAny(p.link, Serial{})
	assert.ErrorIs(t, err, &PortError{Reason: PortSession})

	gauge := newPeer(t)
	f := PortOpener(gauge.link, Serial{})
	port, _, err := f(t.Context())
	require.NoError(t, err)
	require.NoError(t, port.Close())
	require.NoError(t, os.Remove(gauge.link))
	require.NoError(t, os.Symlink(p.slave.Name(), gauge.link))
	_, _, err = f(t.Context())
	assert.ErrorIs(t, err, &PortError{Reason: PortSession})
	assert.Equal(t, before, settings(t, p.slave))
}

func TestControllingTerminal(t *testing.T) {
	for _, c := range []struct {
		stat string
		want uint64
	}{
		{"12 (sh) S 1 12 12 34817 12 4194304", unix.Mkdev(136, 1)},
		{"12 (a (b) c) S 1 12 12 1048832 12 4194304", unix.Mkdev(1, 256)},
		{"12 (sh) S 1 12 12 0 -1 4194304", 0},
		{"12 (sh) S 1", 0},
		{"", 0},
	} {
		assert.Equal(t, c.want, controlling([]byte(c.stat)), c.stat)
	}
}

func TestFlowControlKeepsAnOddSpeed(t *testing.T) {
	p := newPeer(t)
	port, err := openAny(p.link, Serial{Baud: 31250, Flow: "rts-cts"})
	require.NoError(t, err)
	defer port.Close()
	got, err := unix.IoctlGetTermios(int(p.slave.Fd()), unix.TCGETS2)
	require.NoError(t, err)
	assert.EqualValues(t, 31250, got.Ospeed)
}
