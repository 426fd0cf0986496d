package journal

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"crownlog/logger/record"
)

// replaceFile is ReplaceFile for data that is there already.
func replaceFile(path string, data []byte) error {
	return ReplaceFile(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// ReplaceFile makes path hold what write produces piece by piece, so that a
// reader finds the old file or the new one, whole, also after a power loss. A
// failure leaves the old file and is a *StoreError.
func ReplaceFile(path string, write func(w io.Writer) error) error {
	return disk{(*os.File).Sync, syncDir}.replace(path, write)
}

// A disk is what makes a replaced file survive a power loss.
type disk struct {
	syncFile func(*os.File) error
	syncDir  func(dir string) error
}

func (d disk) replace(path string, write func(w io.Writer) error) error {
	// In the same folder: a rename to another file system would not be one step.
	name := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s.%d", filepath.Base(path), rand.Uint64()))
	tmp, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return storeError("write", path, err)
	}
	if old, statErr := os.Stat(path); statErr == nil && old.Mode().IsRegular() {
		err = tmp.Chmod(old.Mode().Perm()) // as its owner set it
	}
	// Synced before it takes the name: a power loss would else leave the new name
	// on an empty file.
	err = errors.Join(err, write(tmp), d.syncFile(tmp), tmp.Close())
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		return errors.Join(storeError("write", path, err), os.Remove(tmp.Name()))
	}
	return d.syncDir(filepath.Dir(path))
}

// appendSynced adds data to the end of path and waits until it is on disk.
func appendSynced(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND|os.O_CREATE, fileMode)
	if err != nil {
		return storeError("write", path, err)
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return storeError("write", path, err)
	}
	return syncDir(filepath.Dir(path))
}

// tempName is the name of a file that has not taken its place yet.
var tempName = regexp.MustCompile(`^\..+\.[0-9]+$`)

// tempAge is how long no export takes: a temporary file that is older is of one
// that was killed.
const tempAge = time.Hour

// sweep takes away what killed runs and exports have left in a job folder.
func sweep(dir string, now time.Time) {
	for _, in := range []string{"", readingsDir, record.AttachmentsDir, sheetsDir} {
		entries, _ := os.ReadDir(filepath.Join(dir, in))
		for _, e := range entries {
			info, err := e.Info()
			if err == nil && info.Mode().IsRegular() && tempName.MatchString(e.Name()) && now.Sub(info.ModTime()) > tempAge {
				_ = os.Remove(filepath.Join(dir, in, e.Name())) // the next run tries again
			}
		}
	}
}
