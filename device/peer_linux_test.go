package device

import "golang.org/x/sys/unix"

const tcGet, tcSet = unix.TCGETS, unix.TCSETS
