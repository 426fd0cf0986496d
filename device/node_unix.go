//go:build unix

package device

import "golang.org/x/sys/unix"

// nodeAt describes an open handle where path is "", else the entry path itself.
func nodeAt(fd int, path string) (n node, err error) {
	var st unix.Stat_t
	if path == "" {
		err = unix.Fstat(fd, &st)
	} else {
		err = unix.Lstat(path, &st)
	}
	return node{uint64(st.Dev), uint64(st.Rdev), uint64(st.Ino), [2]int64{int64(st.Ctim.Sec), int64(st.Ctim.Nsec)}}, err
}
