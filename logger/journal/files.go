package journal

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
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

var (
	errNotPlain = errors.New("not a file")
	errTooLarge = errors.New("it is larger than any there is")
)

// mostCaptures is how large a captures.csv may be: a million and a half captures,
// where a job has some hundreds.
const mostCaptures = 512 << 20

// plainFile refuses what is no file, or too large a one: opening a pipe would wait
// for ever, and reading a device would never end.
func plainFile(path string, most int64) error {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return err
	case !info.Mode().IsRegular():
		return errNotPlain
	case info.Size() > most:
		return errTooLarge
	}
	return nil
}

// openPlain opens a file that is not a folder or a pipe.
func openPlain(path string, most int64) (*os.File, error) {
	if err := plainFile(path, most); err != nil {
		return nil, err
	}
	return os.Open(path)
}

// ReadSheet reads a file of a size that fits a sheet: one of those that are kept, or
// another small file of a job folder.
func ReadSheet(path string) ([]byte, error) { return readPlain(path, mostSmall) }

// readPlain reads a file that is no larger than most.
func readPlain(path string, most int64) ([]byte, error) {
	file, err := openPlain(path, most)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(file)
}

// hashFile is the SHA-256 of a file in hex.
func hashFile(path string) (string, error) {
	file, err := openPlain(path, math.MaxInt64)
	if err != nil {
		return "", err
	}
	defer file.Close()
	hash := sha256.New()
	_, err = io.Copy(hash, file)
	return hex.EncodeToString(hash.Sum(nil)), err
}

// mostSheet is how large a job.toml may be, ten times the longest there is, and
// mostSmall a file that lists all others.
const mostSheet, mostSmall = 1 << 17, 1 << 20

func hashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
