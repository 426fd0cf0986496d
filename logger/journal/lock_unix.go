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
