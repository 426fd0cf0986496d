//go:build unix

package device

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

func TestErrorsOfTheSystemAreNamed(t *testing.T) {
	for errno, want := range map[syscall.Errno]PortReason{unix.EACCES: PortDenied, unix.EPERM: PortDenied, unix.ENOENT: PortMissing,
		unix.ENXIO: PortMissing, unix.ENODEV: PortMissing, unix.EBUSY: PortBusy, unix.EIO: PortGone, unix.ENOTTY: PortNotSerial, unix.EMFILE: PortFailed} {
		err := openError("port", errno)
		assert.ErrorIs(t, err, &PortError{Reason: want}, errno.Error())
	}
	for errno, want := range map[syscall.Errno]bool{unix.ENOTTY: true, unix.ENOTSUP: true, unix.EINVAL: true, unix.EIO: false} {
		assert.Equal(t, want, unsupported(errno), errno.Error())
	}
}

// A program that is being started has a copy of every handle until it is
// loaded; a port closed and opened again at that moment is free all the same.
func TestLockIsGivenBackWithCopiesOfItsHandle(t *testing.T) {
	p := newPeer(t)
	first, _, err := lockPort(p.link, origin{})
	require.NoError(t, err)
	inherited, err := unix.Dup(first.fd)
	require.NoError(t, err)
	defer unix.Close(inherited)
	first.Close()
	second, _, err := lockPort(p.link, origin{})
	require.NoError(t, err)
	second.Close()
}

// Failures that the library finds by itself, each as it gives it.
func TestErrorsOfTheLibraryAreNamed(t *testing.T) {
	p := newPeer(t)
	for _, tt := range []struct {
		name, path string
		mode       serial.Mode
		reason     PortReason
		cause      bool // is told: it says more than the reason
	}{
		{"missing", filepath.Join(t.TempDir(), "none"), serial.Mode{}, PortMissing, false},
		{"no terminal", os.DevNull, serial.Mode{}, PortNotSerial, false},
		{"data bits", p.link, serial.Mode{DataBits: 9}, PortBadSetting, true},
		{"parity", p.link, serial.Mode{Parity: 9}, PortBadSetting, true},
		{"stop bits", p.link, serial.Mode{StopBits: 9}, PortBadSetting, true},
	} {
		_, err := serial.Open(tt.path, &tt.mode)
		require.Error(t, err, tt.name)
		var pe *PortError
		require.ErrorAs(t, openError("port", err), &pe, tt.name)
		assert.Equal(t, "port", pe.Port, tt.name)
		assert.Equal(t, tt.reason, pe.Reason, "%s: %v", tt.name, err)
		assert.Equal(t, tt.cause, pe.Err != nil, "%s: %v", tt.name, err)
	}
}

// The flow control is really set, at any speed, and not left from the opening before.
func TestFlowControlIsSet(t *testing.T) {
	p := newPeer(t)
	for _, c := range []struct {
		s        Serial
		hard     bool
		software bool
	}{{Serial{Flow: "rts-cts", Baud: 31250}, true, false}, {Serial{}, false, false}, {Serial{Flow: "xon-xoff"}, false, true}, {Serial{Flow: "none"}, false, false}} {
		port, err := openAny(p.link, c.s)
		require.NoError(t, err)
		got, err := unix.IoctlGetTermios(int(p.slave.Fd()), getTermios)
		require.NoError(t, err)
		assert.Equal(t, c.hard, got.Cflag&unix.CRTSCTS != 0, "%+v", c.s)
		assert.Equal(t, c.software, got.Iflag&unix.IXON != 0 && got.Iflag&unix.IXOFF != 0, "%+v", c.s)
		require.NoError(t, port.Close())
	}
}
