//go:build !windows

package journal

import (
	"errors"
	"os"
)

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
