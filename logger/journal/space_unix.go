//go:build !windows

package journal

import (
	"errors"
	"syscall"
)

// diskFull recognises a full disk and a used-up quota.
func diskFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}
