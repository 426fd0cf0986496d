package device

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

const getTermios, setTermios = unix.TCGETS, unix.TCSETS

// hasSession reports whether some process has the terminal for its own: a shell
// at work, or a login that waits.
func hasSession(terminal node) bool {
	list, _ := filepath.Glob("/proc/[0-9]*/stat") // without a process list there is nothing to know
	for _, path := range list {
		if b, err := os.ReadFile(path); err == nil && terminal.device != 0 && controlling(b) == terminal.device {
			return true
		}
	}
	return false
}

// controlling is the terminal in a line of /proc/PID/stat, 0 for none: the fifth
// field after the name in brackets, which may hold brackets and blanks itself.
// Source: proc_pid_stat(5), tty_nr: minor in bits 31 to 20 and 7 to 0, major in
// bits 15 to 8.
func controlling(stat []byte) uint64 {
	var state string
	var parent, group, session, nr int64 // 0 where the line ends before
	fmt.Sscan(string(stat[bytes.LastIndexByte(stat, ')')+1:]), &state, &parent, &group, &session, &nr)
	if nr == 0 {
		return 0
	}
	return unix.Mkdev(uint32(nr>>8)&0xfff, uint32(nr&0xff|nr>>12&0xfff00))
}
