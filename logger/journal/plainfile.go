package journal

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"math"
	"os"
)

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
