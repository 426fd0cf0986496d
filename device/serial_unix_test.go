//go:build unix

package device

import (
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A program that is being started has a copy of every handle until it is
// loaded; a port closed and opened again at that moment is free all the same.
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
