package device

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"

	"golang.org/x/sys/unix"
)

// nodeAt describes an open handle where path is "", else the entry path itself.
func nodeAt(fd int, path string) (node, error) {
	flags := unix.AT_EMPTY_PATH
	if path != "" {
		fd, flags = unix.AT_FDCWD, unix.AT_SYMLINK_NOFOLLOW
	}
	var st unix.Statx_t
	if err := unix.Statx(fd, path, flags, unix.STATX_BASIC_STATS|unix.STATX_BTIME, &st); err != nil {
		return node{}, err
	}
	born := st.Ctime // pseudo-terminals have no other
	if st.Mask&unix.STATX_BTIME != 0 {
		born = st.Btime
	}
	return node{unix.Mkdev(st.Dev_major, st.Dev_minor), unix.Mkdev(st.Rdev_major, st.Rdev_minor), st.Ino,
		[2]int64{born.Sec, int64(born.Nsec)}}, nil
}

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
