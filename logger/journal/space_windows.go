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

// diskFull recognises a full disk.
func diskFull(err error) bool {
	return errors.Is(err, errorDiskFull) || errors.Is(err, errorHandleDiskFull)
}
