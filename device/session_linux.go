package device

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"

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
	fields := bytes.Fields(stat[bytes.LastIndexByte(stat, ')')+1:])
	if len(fields) < 5 {
		return 0
	}
	n, err := strconv.ParseInt(string(fields[4]), 10, 32)
	if err != nil || n == 0 {
		return 0
	}
	nr := uint32(n)
	return unix.Mkdev(nr>>8&0xfff, nr&0xff|nr>>12&0xfff00)
}
