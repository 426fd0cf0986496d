package journal

import (
	"errors"
	"io"
	"os"
	"path/filepath"
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
	tmp, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return storeError("write", path, err)
	}
	// Synced before it takes the name: a power loss would else leave the new name
	// on an empty file.
	err = errors.Join(write(tmp), tmp.Chmod(fileMode), d.syncFile(tmp), tmp.Close())
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
