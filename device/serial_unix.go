//go:build unix

package device

import (
	"cmp"
	"errors"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"

	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

// A line is a handle on the device of our own, opened before the library opens
// its. It keeps other programs off, and is what is read and written.
type line struct {
	*os.File
	fd     int
	origin origin
}

// lockPort keeps other programs of the same habit off the port. The exclusive
// mode of a terminal does not bind the administrator; a lock on the device does.
// Nothing is changed on a device that is not to be taken: one that is not what
// was, or a terminal that somebody works at. A program that waits for a lost
// terminal would else take the shell or the other program that got its number
// next.
func lockPort(name string, was origin) (_ *line, path string, err error) {
	if path, err = filepath.EvalSymlinks(name); err != nil {
		return nil, "", err
	}
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, "", err
	}
	l := &line{os.NewFile(uintptr(fd), path), fd, origin{}}
	var target, entry unix.Stat_t
	err = cmp.Or(unix.Fstat(fd, &target), unix.Lstat(name, &entry))
	l.origin = origin{nodeOf(&target), nodeOf(&entry)}
	switch {
	case err != nil:
	case was != origin{} && !was.sameAs(l.origin):
		err = &PortError{Port: name, Reason: PortForeign}
	case hasSession(l.origin.target):
		err = &PortError{Port: name, Reason: PortSession}
	default:
		err = unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB)
	}
	if err != nil {
		l.File.Close()
		return nil, "", err
	}
	return l, path, nil
}

func nodeOf(st *unix.Stat_t) node {
	return node{uint64(st.Dev), uint64(st.Rdev), uint64(st.Ino), [2]int64{int64(st.Ctim.Sec), int64(st.Ctim.Nsec)}}
}

// setFlow sets the flow control, which the library turns off.
func (l *line) setFlow(_ serial.Port, flow string) error {
	t, err := unix.IoctlGetTermios(l.fd, getTermios)
	if err != nil {
		return err
	}
	if flow == FlowHardware {
		t.Cflag |= unix.CRTSCTS
	} else {
		t.Iflag |= unix.IXON | unix.IXOFF
	}
	return unix.IoctlSetTermios(l.fd, setTermios, t)
}

// takeOver lets go of the library's handle, whose end takes the exclusive mode
// away from all.
func (l *line) takeOver(port serial.Port, _ string) Conn {
	port.Close()
	_ = unix.IoctlSetInt(l.fd, unix.TIOCEXCL, 0) // the lock holds without
	return l
}

// Close implements Conn. It lets go of the device also where a program that is just
// being started holds a copy of the handle, or another has the device open.
func (l *line) Close() error {
	_ = unix.IoctlSetInt(l.fd, unix.TIOCNXCL, 0)
	_ = unix.Flock(l.fd, unix.LOCK_UN)
	return l.File.Close()
}

// deviceGroup is the group whose members may read and write the device, "" where it
// is the administrator's.
func deviceGroup(name string) string {
	const readWrite = 0o060
	var st unix.Stat_t
	if unix.Stat(name, &st) == nil && st.Gid != 0 && st.Mode&readWrite == readWrite {
		if g, err := user.LookupGroupId(strconv.Itoa(int(st.Gid))); err == nil {
			return g.Name
		}
	}
	return ""
}

// systemReasons are what errors of the operating system mean.
var systemReasons = map[syscall.Errno]PortReason{unix.EACCES: PortDenied, unix.EPERM: PortDenied, unix.ENOENT: PortMissing,
	unix.ENXIO: PortMissing, unix.ENODEV: PortMissing, unix.EBUSY: PortBusy, unix.EWOULDBLOCK: PortBusy,
	unix.EIO: PortGone, unix.EISDIR: PortIsDir, unix.ENOTTY: PortNotSerial}

// unsupported reports whether the line has no such signal.
func unsupported(err error) bool {
	return errors.Is(err, unix.ENOTTY) || errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.EINVAL)
}
