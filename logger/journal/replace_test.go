package journal

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestReplaceFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "record.csv")
	write := func(text string, err error) func(io.Writer) error {
		return func(w io.Writer) error {
			_, failed := io.WriteString(w, text)
			return errors.Join(failed, err)
		}
	}
	require.NoError(t, ReplaceFile(path, write("old", nil)))
	broken := errors.New("no row")
	require.ErrorIs(t, ReplaceFile(path, write("half", broken)), broken)
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "old", string(got), "a failure leaves the file")
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "and nothing beside it")
}

// TestReplacedFileIsOnDisk before it takes the name, and the name after.
func TestReplacedFileIsOnDisk(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "record.csv")
	text := func(w io.Writer) error { _, err := io.WriteString(w, "new"); return err }
	var failFile, failDir error
	var steps []string
	d := disk{
		func(f *os.File) error {
			got, err := os.ReadFile(f.Name())
			require.NoError(t, err)
			assert.NoFileExists(t, path)
			steps = append(steps, "file "+string(got))
			return failFile
		},
		func(of string) error {
			assert.FileExists(t, path)
			steps = append(steps, "names of "+of)
			return failDir
		},
	}
	failFile = errors.New("no sync")
	require.ErrorIs(t, d.replace(path, text), failFile)
	assert.NoFileExists(t, path)
	failFile, failDir = nil, errors.New("no sync of names")
	require.ErrorIs(t, d.replace(path, text), failDir)
	assert.Equal(t, []string{"file new", "file new", "names of " + dir}, steps)
}

// TestStoreErrorsNameTheFile and not the one that stood in for it.
func TestStoreErrorsNameTheFile(t *testing.T) {
	dir := t.TempDir()
	taken := filepath.Join(dir, "record.csv")
	require.NoError(t, os.MkdirAll(filepath.Join(taken, "x"), folderMode))
	nothing := func(io.Writer) error { return nil }
	for _, path := range []string{taken, filepath.Join(dir, "nowhere", "record.csv")} {
		err := ReplaceFile(path, nothing)
		var store *StoreError
		require.ErrorAs(t, err, &store)
		assert.Equal(t, path, store.Path)
		assert.NotContains(t, err.Error(), ".record.csv.")
	}
	err := storeError("write", "record.csv", &os.PathError{Op: "open", Path: ".record.csv.123", Err: syscall.EACCES})
	require.EqualError(t, err, "write record.csv: permission denied")
	require.ErrorIs(t, err, os.ErrPermission)
	assert.ErrorIs(t, storeError("write", "x", &os.PathError{Op: "write", Path: "y", Err: noSpace}), ErrDiskFull)
}
