package journal

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// TestRefusedByTheDisk puts something into the place of each file and folder that
// a job folder makes: every system refuses it then, whoever asks.
func TestRefusedByTheDisk(t *testing.T) {
	inPlace := func(f *Folder, name string) string {
		path := filepath.Join(f.Dir(), name)
		require.NoError(t, os.RemoveAll(path))
		require.NoError(t, os.WriteFile(path, nil, fileMode))
		return path
	}
	photo := filepath.Join(t.TempDir(), "photo.jpg")
	require.NoError(t, os.WriteFile(photo, []byte("abc"), fileMode))
	long := strings.Repeat("x", 300) // no file system has names of that length
	for name, tt := range map[string]struct {
		do   func(f *Folder) error
		want StoreError
	}{
		"folder of readings": {func(f *Folder) error {
			inPlace(f, readingsDir)
			_, err := f.Readings(record.StageFinal, record.FeatureBacklash)
			return err
		}, StoreError{What: "create", Path: readingsDir}},
		"readings": {func(f *Folder) error {
			_, err := f.Readings(long, record.FeatureBacklash)
			return err
		}, StoreError{What: "create", Path: filepath.Join(readingsDir, long+"-backlash-1.csv")}},
		"attachments": {func(f *Folder) error {
			inPlace(f, record.AttachmentsDir)
			_, err := f.Attach(record.StageFinal, photo, "", folderTime)
			return err
		}, StoreError{What: "create", Path: record.AttachmentsDir}},
		"closed readings": {func(f *Folder) error {
			w, err := f.Readings(record.StageFinal, record.FeatureBacklash)
			require.NoError(t, err)
			require.NoError(t, w.file.Close())
			require.NoError(t, os.Rename(w.Path(), filepath.Join(f.Dir(), "store")))
			return w.Record(streamEvents()[0])
		}, StoreError{What: "store reading in", Path: filepath.Join(readingsDir, "final-backlash-1.csv")}},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFolder(t)
			err := tt.do(f)
			var store *StoreError
			require.ErrorAs(t, err, &store)
			assert.Equal(t, tt.want.What, store.What)
			assert.Equal(t, filepath.Join(f.Dir(), tt.want.Path), store.Path)
			assert.Empty(t, f.Captures())
		})
	}
}

// TestOpenRefused: what keeps a folder from being opened leaves it as it was.
func TestOpenRefused(t *testing.T) {
	whole, _ := smallJournal(t, 2)
	torn := whole[:len(whole)-5]
	for name, tt := range map[string]struct {
		blocked string // what a folder stands in the place of
		data    []byte
		want    StoreError
	}{
		"lock":      {lockFile, whole, StoreError{What: "lock"}},
		"captures":  {captureFile, nil, StoreError{What: "write", Path: captureFile}},
		"torn line": {captureFile + tornSuffix, torn, StoreError{What: "write", Path: captureFile + tornSuffix}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := folderWith(t, tt.data)
			path := filepath.Join(dir, tt.blocked)
			require.NoError(t, os.RemoveAll(path))
			require.NoError(t, os.Mkdir(path, folderMode))
			_, err := openFolder(dir)
			var store *StoreError
			require.ErrorAs(t, err, &store)
			assert.Equal(t, tt.want.What, store.What)
			assert.Equal(t, filepath.Join(dir, tt.want.Path), store.Path)
			if tt.data != nil {
				got, err := os.ReadFile(filepath.Join(dir, captureFile))
				require.NoError(t, err)
				assert.Equal(t, string(tt.data), string(got))
			}
			require.NoError(t, os.Remove(path))
			require.NoError(t, os.WriteFile(filepath.Join(dir, captureFile), whole, fileMode))
			again, err := openFolder(dir)
			require.NoError(t, err, "the lock was given back")
			require.NoError(t, again.Close())
		})
	}
	dir := folderWith(t, nil)
	require.NoError(t, os.Remove(filepath.Join(dir, captureFile)))
	require.NoError(t, os.Mkdir(filepath.Join(dir, captureFile), folderMode))
	_, err := readFolder(dir)
	require.Error(t, err)
	_, err = Examine(dir, record.StageBench)
	require.ErrorContains(t, err, "examine captures: ")
	_, err = SetAside(dir, record.StageBench)
	require.ErrorContains(t, err, "examine captures: ")
}

// A faultyDisk cannot cut a file off, or cannot sync it.
type faultyDisk struct {
	journalFile
	truncate, sync error
}

func (d faultyDisk) Truncate(int64) error { return d.truncate }
func (d faultyDisk) Sync() error          { return d.sync }

func TestTornLineThatCannotBeCutOff(t *testing.T) {
	broken := errors.New("input/output error")
	for _, tt := range []struct {
		disk faultyDisk
		want string
	}{
		{faultyDisk{truncate: broken}, "cut torn line off "},
		{faultyDisk{sync: broken}, "sync "},
	} {
		path := filepath.Join(t.TempDir(), captureFile)
		f := Folder{}
		err := f.setAside(path, tt.disk, 10, []byte("torn"))
		require.EqualError(t, err, tt.want+path+": input/output error")
		assert.Empty(t, f.Torn())
		kept, err := os.ReadFile(path + tornSuffix)
		require.NoError(t, err)
		assert.Equal(t, "torn\n", string(kept), "it is kept before it is cut off")
	}
}

// TestModes: whoever may read the folder may read what is in it, and nobody may
// run it. The mask of the user takes away, it does not add.
func TestModes(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("files have no modes there")
	}
	whole, _ := smallJournal(t, 2)
	f, err := openFolder(folderWith(t, whole[:len(whole)-5]))
	require.NoError(t, err)
	w, err := f.Readings(record.StageFinal, record.FeatureBacklash)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	photo := filepath.Join(t.TempDir(), "photo.jpg")
	require.NoError(t, os.WriteFile(photo, nil, fileMode))
	_, err = f.Attach(record.StageFinal, photo, "", folderTime)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	for _, name := range []string{readingsDir, record.AttachmentsDir} {
		info, err := os.Stat(filepath.Join(f.Dir(), name))
		require.NoError(t, err)
		assert.Zero(t, info.Mode().Perm()&^0o755, name)
		assert.Equal(t, os.FileMode(0o700), info.Mode().Perm()&0o700, name)
	}
	for _, path := range []string{filepath.Join(f.Dir(), captureFile+tornSuffix), w.Path()} {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Zero(t, info.Mode().Perm()&^0o644, path)
		assert.NotZero(t, info.Mode().Perm()&0o400, path)
	}
}

// TestAppendAfterClose: the lock is gone, and another writer may be at work.
func TestAppendAfterClose(t *testing.T) {
	f := newFolder(t)
	require.NoError(t, f.Close())
	_, err := f.Append(sampleCapture(1, 0.17))
	require.ErrorContains(t, err, "is closed")
	assert.Empty(t, f.Captures())
}

// TestTimesKeepTheirZone: that of the measurement, not of whoever reads it.
func TestTimesKeepTheirZone(t *testing.T) {
	f := newFolder(t)
	c := sampleCapture(1, 0.17)
	c.Time = c.Time.In(time.FixedZone("east", 5*3600+1800))
	stored, err := f.Append(c)
	require.NoError(t, err)
	assert.True(t, stored.Time.Equal(c.Time))
	snap, err := readFolder(f.Dir())
	require.NoError(t, err)
	assert.Equal(t, stored.Time, snap.Captures[0].Time)
	_, offset := snap.Captures[0].Time.Zone()
	assert.Equal(t, 5*3600+1800, offset)
}

func TestDamageErrors(t *testing.T) {
	assert.EqualError(t, &DamageError{Path: "a.csv", Reason: "gone"}, "a.csv: record damaged: gone")
	assert.EqualError(t, &DamageError{Path: "a.csv", Line: 1, Reason: "bad"}, "a.csv:1: record damaged: bad")
}
