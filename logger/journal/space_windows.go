package journal

import (
	"errors"
	"syscall"
)

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
