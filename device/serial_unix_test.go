//go:build unix

package device

import (
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A program that is being started has a copy of every handle until it is
// loaded; a port closed and opened again at that moment is free all the same.
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

func TestLockIsGivenBackWithCopiesOfItsHandle(t *testing.T) {
	p := newPeer(t)
	first, err := lockPort(p.link)
	require.NoError(t, err)
	inherited, err := unix.Dup(first.fd)
	require.NoError(t, err)
	defer unix.Close(inherited)
	first.release()
	second, err := lockPort(p.link)
	require.NoError(t, err)
	second.release()
}
