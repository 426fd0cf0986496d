//go:build unix && !linux

package device

import "golang.org/x/sys/unix"

const getTermios, setTermios = unix.TIOCGETA, unix.TIOCSETA

// hasSession: this system does not tell it to everybody.
func hasSession(node) bool { return false }
