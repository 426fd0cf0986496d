//go:build unix

package device

import (
	"errors"
	"os"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"time"

	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

// A portLock is a second handle on the device, opened before the library forbids
// one. It keeps other programs off, and takes what is written. On Linux it is read
// too: a Read of the library keeps a thread, and costs eight times as much.
type portLock struct {
	fd     int
	file   *os.File // of the handle, nil where the library reads
	path   string   // of the device, links followed
	origin origin
}

// writePause is between two tries to write to a line that is full: two
// characters at 9600 baud take as long.
const writePause = 2 * time.Millisecond

// lockPort keeps other programs of the same habit off the port. The exclusive
// mode of a terminal does not bind the administrator, and is lost when any
// second handle is closed; a lock on the device node holds. Nothing is changed on
// a device that is not to be taken: one that is not what was, or a terminal that
// somebody works at. A program that waits for a lost terminal would else take
// the shell or the other program that got its number next.
func lockPort(name string, was origin) (portLock, error) {
	fail := func(err error) (portLock, error) {
		if errors.Is(err, &PortError{}) {
			return portLock{}, err
		}
		return portLock{}, systemOpenError(&PortError{Port: name, Reason: PortFailed, Err: err}, err)
	}
	path, err := filepath.EvalSymlinks(name)
	if err != nil {
		return fail(err)
	}
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return fail(err)
	}
	l := portLock{fd: fd, path: path}
	err = l.look(name)
	switch {
	case err != nil:
	case was != origin{} && !was.sameAs(l.origin):
		err = &PortError{Port: name, Reason: PortForeign}
	case hasSession(l.origin.target):
		err = &PortError{Port: name, Reason: PortSession}
	default:
		if err = unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB); err == nil {
			if runtime.GOOS == "linux" { // the pollers of other systems are not known to take terminals
				l.file = os.NewFile(uintptr(fd), path)
			}
			return l, nil
		}
	}
	unix.Close(fd)
	return fail(err)
}

// look finds out what the handle, and the name it was opened by, lead to.
func (l *portLock) look(name string) (err error) {
	if l.origin.target, err = nodeAt(l.fd, ""); err == nil {
		l.origin.name, err = nodeAt(0, name)
	}
	return err
}

// A runtimeLine is a line that is read through the poller of the runtime.
type runtimeLine struct {
	*os.File
	port serial.Port
	lock portLock
}

// Close implements Conn.
func (l runtimeLine) Close() error {
	defer l.lock.release()
	return l.port.Close()
}

// line returns what the port is read and written with.
func (l portLock) line(port serial.Port) Conn {
	if l.file != nil {
		return runtimeLine{l.file, port, l}
	}
	return &libraryLine{port: port, lock: l}
}

// write writes what the line takes now, which may be nothing: the library would
// wait for it without end.
func (l portLock) write(_ serial.Port, b []byte) (int, error) {
	n, err := unix.Write(l.fd, b)
	if errors.Is(err, unix.EAGAIN) || errors.Is(err, unix.EINTR) {
		time.Sleep(writePause)
		return 0, nil
	}
	return max(0, n), err
}

// release lets go of the device also where a program that is just being started
// holds a copy of the handle.
func (l portLock) release() {
	_ = unix.Flock(l.fd, unix.LOCK_UN)
	if l.file != nil {
		l.file.Close()
		return
	}
	unix.Close(l.fd)
}

// deniedError says which group there is to join: that whose members may read and
// write the device, none where it is the administrator's.
func deniedError(name string) error {
	const readWrite = 0o060
	e := &PortError{Port: name, Reason: PortDenied}
	var st unix.Stat_t
	if unix.Stat(name, &st) == nil && st.Gid != 0 && st.Mode&readWrite == readWrite {
		if g, err := user.LookupGroupId(strconv.Itoa(int(st.Gid))); err == nil {
			e.Group = g.Name
		}
	}
	return e
}

// systemOpenError names an error of the operating system.
func systemOpenError(e *PortError, err error) error {
	switch {
	case errors.Is(err, unix.EACCES), errors.Is(err, unix.EPERM):
		return deniedError(e.Port)
	case errors.Is(err, unix.ENOENT), errors.Is(err, unix.ENXIO), errors.Is(err, unix.ENODEV):
		e.Reason, e.Err = PortMissing, nil
	case errors.Is(err, unix.EBUSY), errors.Is(err, unix.EWOULDBLOCK):
		e.Reason, e.Err = PortBusy, nil
	case errors.Is(err, unix.EIO):
		e.Reason = PortGone
	case errors.Is(err, unix.EISDIR):
		e.Reason, e.Err = PortIsDir, nil
	case errors.Is(err, unix.ENOTTY):
		e.Reason = PortNotSerial
	}
	return e
}

// unsupported reports whether the line has no such signal.
func unsupported(err error) bool {
	return errors.Is(err, unix.ENOTTY) || errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.EINVAL)
}
