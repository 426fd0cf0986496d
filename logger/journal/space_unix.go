//go:build !windows

package journal

import (
	"errors"
	"syscall"
)

// DiskFull recognises a full disk and a used-up quota, also where the error does
// not come from this package.
func DiskFull(err error) bool {
	return errors.Is(err, ErrDiskFull) || errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}
