//go:build darwin || freebsd || openbsd || netbsd || dragonfly

package device

import "golang.org/x/sys/unix"

const tcGet, tcSet = unix.TIOCGETA, unix.TIOCSETA
