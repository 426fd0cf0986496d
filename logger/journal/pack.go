package journal

import (
	"archive/zip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
)

// SumsFile lists the SHA-256 of every file of a packed job, as sha256sum -c reads it.
const SumsFile = "SHA256SUMS"

// Pack writes the job folder dir as a zip with one folder of its name: what is in
// it, FORMAT.txt where it has none, and SumsFile. It holds the folder's lock, so that
// nothing in it is half written, and fails with ErrFolderInUse where another does.
// The lock and what killed runs have left stay out.
func Pack(dir string, w io.Writer) (err error) {
	lock, err := lockFolder(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, lock.Unlock()) }()
	whole, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	z, sums := zip.NewWriter(w), ""
	add := func(name string, from io.Reader) error {
		to, err := z.Create(path.Join(filepath.Base(whole), name))
		hash := sha256.New()
		if err == nil {
			_, err = io.Copy(io.MultiWriter(to, hash), from)
		}
		sums += fmt.Sprintf("%x  %s\n", hash.Sum(nil), name)
		return err
	}
	err = filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() || e.Name() == lockFile || e.Name() == SumsFile || tempName.MatchString(e.Name()) {
			return err
		}
		file, err := os.Open(name)
		if err != nil {
			return err
		}
		defer file.Close()
		in, err := filepath.Rel(dir, name)
		return errors.Join(err, add(filepath.ToSlash(in), file))
	})
	if _, missing := os.Stat(filepath.Join(dir, FormatFile)); missing != nil && err == nil {
		err = add(FormatFile, strings.NewReader(Format))
	}
	if err == nil {
		err = add(SumsFile, strings.NewReader(sums))
	}
	return errors.Join(err, z.Close())
}
