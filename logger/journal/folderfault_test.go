package journal

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// A faultyFile fails the n-th call of one kind, and can fail the taking back.
type faultyFile struct {
	journalFile
	failWrite, failSync, failTruncate int // call that fails, counting from 1; 0: none
	writes, syncs, truncates          int
	short                             bool // a failing write leaves half of its bytes
	err                               error
}

func (f *faultyFile) WriteAt(p []byte, off int64) (int, error) {
	f.writes++
	if f.writes != f.failWrite {
		return f.journalFile.WriteAt(p, off)
	}
	n := 0
	if f.short {
		var err error
		if n, err = f.journalFile.WriteAt(p[:len(p)/2], off); err != nil {
			return n, err
		}
	}
	return n, f.err
}

func (f *faultyFile) Sync() error {
	f.syncs++
	if f.syncs == f.failSync {
		return f.err
	}
	return f.journalFile.Sync()
}

func (f *faultyFile) Truncate(size int64) error {
	f.truncates++
	if f.truncates == f.failTruncate {
		return f.err
	}
	return f.journalFile.Truncate(size)
}

func TestFailingWriterKeepsEarlierCaptures(t *testing.T) {
	broken := errors.New("input/output error")
	tests := []struct {
		name   string
		faulty faultyFile
		want   error // of the third append
		goesOn bool  // the folder can be written to afterwards
	}{
		{"write", faultyFile{failWrite: 3, err: broken}, broken, true},
		{"half a write", faultyFile{failWrite: 3, short: true, err: broken}, broken, true},
		{"sync", faultyFile{failSync: 3, err: broken}, broken, true},
		{"disk full", faultyFile{failWrite: 3, short: true, err: noSpace}, ErrDiskFull, true},
		{"write and taking back", faultyFile{failWrite: 3, short: true, failTruncate: 1, err: broken}, broken, false},
		{"sync and its retry", faultyFile{failSync: 3, failTruncate: 1, err: broken}, broken, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := newFolder(t)
			file := tt.faulty
			file.journalFile = f.file
			f.file = &file
			for i := range 2 {
				_, err := f.Append(sampleCapture(i+1, 0.17))
				require.NoError(t, err)
			}
			_, err := f.Append(sampleCapture(3, 0.17))
			require.ErrorIs(t, err, tt.want)
			assert.Contains(t, err.Error(), captureFile)
			assert.Len(t, f.Captures(), 2)

			again, err := f.Append(sampleCapture(3, 0.18))
			wantLen := 2
			if tt.goesOn {
				require.NoError(t, err)
				assert.Equal(t, 3, again.ID)
				wantLen = 3
			} else {
				require.ErrorContains(t, err, "opened again")
			}
			require.NoError(t, f.Close())
			reopened, err := openFolder(f.Dir())
			require.NoError(t, err)
			got := len(reopened.Captures())
			if tt.name == "sync and its retry" { // the whole line may have reached the disk
				assert.GreaterOrEqual(t, got, 2)
			} else {
				assert.Equal(t, wantLen, got)
			}
			require.NoError(t, reopened.Close())
		})
	}
}

func TestTwoWriters(t *testing.T) {
	f := newFolder(t)
	_, err := openFolder(f.Dir())
	require.ErrorIs(t, err, ErrFolderInUse)
	_, err = f.Append(sampleCapture(1, 0.17))
	require.NoError(t, err)
	snap, err := readFolder(f.Dir())
	require.NoError(t, err, "readers need no lock")
	assert.Len(t, snap.Captures, 1)
	require.NoError(t, f.Close())
	second, err := openFolder(f.Dir())
	require.NoError(t, err)
	require.NoError(t, second.Close())
}

func TestNotAJobFolder(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, fileMode))
	noCaptures := folderWith(t, nil)
	require.NoError(t, os.Remove(filepath.Join(noCaptures, captureFile)))
	wrong := errors.New("line 3 is wrong")
	bad := func(path string, _ []byte) error {
		assert.Equal(t, filepath.Join(noCaptures, SheetFile), path)
		return wrong
	}
	for name, open := range map[string]func(dir string, check CheckSheet) error{
		"OpenFolder": func(dir string, check CheckSheet) error { _, err := Open(dir, check); return err },
		"ReadFolder": func(dir string, check CheckSheet) error { _, err := Read(dir, check); return err },
	} {
		t.Run(name, func(t *testing.T) {
			require.ErrorContains(t, open(dir, sheetThere), "it has no job.toml")
			require.ErrorIs(t, open(dir, sheetThere), ErrNotJobFolder)
			require.ErrorContains(t, open(file, sheetThere), "it is a file")
			require.ErrorIs(t, open(file, sheetThere), ErrNotJobFolder)
			require.ErrorIs(t, open(filepath.Join(dir, "nowhere"), sheetThere), os.ErrNotExist)
			require.Equal(t, wrong, open(noCaptures, bad), "the sheet is looked at first")
			var damage *DamageError
			require.ErrorAs(t, open(noCaptures, sheetThere), &damage)
			assert.Equal(t, DamageError{Path: filepath.Join(noCaptures, captureFile), Reason: "the file is missing", Err: os.ErrNotExist}, *damage)
			_, err := os.Stat(filepath.Join(dir, lockFile))
			require.ErrorIs(t, err, os.ErrNotExist, "nothing is made where there is no job")
		})
	}
	require.ErrorContains(t, Create(noCaptures, anySheet), "job in it already")
	require.ErrorContains(t, Create(dir, anySheet), "not empty")
}

func TestAppendRefuses(t *testing.T) {
	f := newFolder(t)
	for _, tt := range []struct {
		name   string
		change func(*record.Capture)
		want   string
	}{
		{"no stage", func(c *record.Capture) { c.Stage = "" }, "no stage"},
		{"no feature", func(c *record.Capture) { c.Feature = "" }, "no feature"},
		{"later capture", func(c *record.Capture) { c.Supersedes = 7 }, "supersedes 7"},
		{"infinite", func(c *record.Capture) { c.Value = math.Inf(1) }, "infinite"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := sampleCapture(1, 0.17)
			tt.change(&c)
			_, err := f.Append(c)
			require.ErrorContains(t, err, tt.want)
		})
	}
	assert.Empty(t, f.Captures())
}

func TestNoteStaysOnOneLine(t *testing.T) {
	f := newFolder(t)
	c := sampleCapture(1, 0.17)
	c.Note, c.Gauge, c.Convention = "first\r\nsecond\x00third\xff", "a\nb", "c\td"
	stored, err := f.Append(c)
	require.NoError(t, err)
	assert.Equal(t, "a b", stored.Gauge)
	assert.Equal(t, "c d", stored.Convention)
	assert.Equal(t, "first second third", stored.Note)
	snap, err := readFolder(f.Dir())
	require.NoError(t, err)
	assert.Equal(t, stored.Note, snap.Captures[0].Note)
}
