package journal

import (
	"errors"
	"os"
	"syscall"
)

// holdFile does nothing: on Windows .lock cannot be deleted while it is held, and
// a lock on captures.csv would keep readers off.
func holdFile(*os.File) (taken bool, err error) { return false, nil }

// Source: Windows system error codes, ERROR_HANDLE_DISK_FULL and ERROR_DISK_FULL.
const (
	errorHandleDiskFull = syscall.Errno(39)
	errorDiskFull       = syscall.Errno(112)
)

// DiskFull recognises a full disk, also where the error does not come from this
// package.
func DiskFull(err error) bool {
	return errors.Is(err, ErrDiskFull) || errors.Is(err, errorDiskFull) || errors.Is(err, errorHandleDiskFull)
}

// syncDir does nothing: Windows has no call for it and writes names by itself.
func syncDir(string) error { return nil }
