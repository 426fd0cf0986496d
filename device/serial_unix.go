//go:build unix

package device

import (
	"errors"
	"os"
	"os/user"
	"strconv"
	"syscall"

	"golang.org/x/sys/unix"
)

// checkPath names what is wrong with a path before it is opened.
func checkPath(name string) error {
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, os.ErrPermission):
		return deniedError(name)
	case err != nil:
		return &PortError{Port: name, Reason: PortMissing}
	case info.IsDir():
		return &PortError{Port: name, Reason: PortIsDir}
	case info.Mode()&os.ModeCharDevice == 0:
		return &PortError{Port: name, Reason: PortNotSerial}
	}
	return nil
}

// lockPort keeps other programs of the same habit off the port. The exclusive
// mode of a terminal does not bind the administrator, and is lost when any
// second handle is closed; a lock on the device node holds.
func lockPort(name string) (unlock func(), err error) {
	fd, err := unix.Open(name, unix.O_RDONLY|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, systemOpenError(&PortError{Port: name, Reason: PortFailed, Err: err}, err)
	}
	if err := unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB); err != nil {
		unix.Close(fd)
		if errors.Is(err, unix.EWOULDBLOCK) {
			return nil, &PortError{Port: name, Reason: PortBusy}
		}
		return nil, &PortError{Port: name, Reason: PortFailed, Err: err}
	}
	return func() { unix.Close(fd) }, nil
}

// deniedError says which group there is to join.
func deniedError(name string) error {
	e := &PortError{Port: name, Reason: PortDenied}
	if info, err := os.Stat(name); err == nil {
		e.Group = portGroup(info)
	}
	return e
}

// portGroup is the group whose members may read and write the device, "" where
// there is none, or only the administrator's.
func portGroup(info os.FileInfo) string {
	const readWrite = 0o060
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok || st.Gid == 0 || info.Mode()&readWrite != readWrite {
		return ""
	}
	g, err := user.LookupGroupId(strconv.Itoa(int(st.Gid)))
	if err != nil {
		return ""
	}
	return g.Name
}

// systemOpenError names an error of the operating system.
func systemOpenError(e *PortError, err error) error {
	switch {
	case errors.Is(err, unix.EACCES), errors.Is(err, unix.EPERM):
		return deniedError(e.Port)
	case errors.Is(err, unix.ENOENT), errors.Is(err, unix.ENXIO), errors.Is(err, unix.ENODEV):
		e.Reason, e.Err = PortMissing, nil
	case errors.Is(err, unix.EBUSY):
		e.Reason, e.Err = PortBusy, nil
	case errors.Is(err, unix.EIO):
		e.Reason = PortGone
	case errors.Is(err, unix.ENOTTY):
		e.Reason = PortNotSerial
	}
	return e
}

// unsupported reports whether the line has no such signal.
func unsupported(err error) bool {
	return errors.Is(err, unix.ENOTTY) || errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.EINVAL)
}
