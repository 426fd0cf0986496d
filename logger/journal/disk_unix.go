//go:build !windows

package journal

import (
	"errors"
	"os"
	"syscall"
)

// holdFile keeps other writers off captures.csv itself, for .lock can be deleted.
// It reports whether another holds it. Readers are not kept off.
func holdFile(file *os.File) (taken bool, err error) {
	err = syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return true, nil
	}
	return false, err
}

// DiskFull recognises a full disk and a used-up quota, also where the error does
// not come from this package.
func DiskFull(err error) bool {
	return errors.Is(err, ErrDiskFull) || errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}

// syncDir makes new names in dir survive a power loss.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return storeError("sync", dir, err)
	}
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return storeError("sync", dir, err)
	}
	return nil
}
