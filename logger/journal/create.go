package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// Create makes dir a job folder with the given text as its job sheet,
// which the caller has found sound. dir may exist when it is empty.
func Create(dir string, sheetTOML []byte) error {
	if err := CanCreate(dir); err != nil {
		return err
	}
	return fillFolder(dir, sheetTOML)
}

// fillFolder makes the files of a new folder, or takes away again what it has
// made. Folders above dir that had to be made stay.
func fillFolder(dir string, sheetTOML []byte) (err error) {
	_, missing := os.Stat(dir)
	captures, readings := filepath.Join(dir, captureFile), filepath.Join(dir, readingsDir)
	defer func() {
		if err == nil {
			return
		}
		// Of a folder this takes an empty one only; the failure before is what matters.
		_, _ = os.Remove(captures), os.Remove(readings)
		if missing != nil {
			_ = os.Remove(dir)
		}
	}()
	if err := os.MkdirAll(readings, folderMode); err != nil {
		return storeError("create", dir, err)
	}
	if err := replaceFile(captures, []byte(captureHeader+lineEnd)); err != nil {
		return err
	}
	// The sheet comes last: a folder is a job folder once it stands there.
	return replaceFile(filepath.Join(dir, SheetFile), sheetTOML)
}

// CanCreate says why CreateFolder would refuse dir: it holds something already,
// or is no folder.
func CanCreate(dir string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case isFile(dir): // Windows calls that a missing path
		return fmt.Errorf("create job folder: %s is a file", dir)
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("create job folder: %w", err)
	}
	if slices.ContainsFunc(entries, func(e os.DirEntry) bool { return e.Name() == SheetFile }) {
		return fmt.Errorf("create job folder %s: there is a job in it already", dir)
	}
	if slices.ContainsFunc(entries, func(e os.DirEntry) bool { return !leftOver(dir, e) }) {
		return fmt.Errorf("create job folder %s: directory is not empty", dir)
	}
	return nil
}

// leftOver reports whether e can be what a killed Create has left in dir: nothing
// was ever recorded in it.
func leftOver(dir string, e os.DirEntry) bool {
	path := filepath.Join(dir, e.Name())
	if e.Name() == readingsDir {
		in, err := os.ReadDir(path)
		return err == nil && len(in) == 0
	}
	text, _ := ReadSheet(path)
	return tempName.MatchString(e.Name()) || e.Name() == captureFile && string(text) == captureHeader+lineEnd
}
