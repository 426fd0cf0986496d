package journal

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

var folderTime = time.Date(2026, 3, 4, 9, 30, 0, 123456789, time.UTC)

// anySheet stands for a job sheet: a folder does not look into it.
var anySheet = []byte("schema = 1\n")

// sheetThere finds nothing wrong with a sheet that is there.
func sheetThere(path string, _ []byte) error { _, err := os.Stat(path); return err }

func openFolder(dir string) (*Folder, error) { return Open(dir, sheetThere) }

func readFolder(dir string) (*Snapshot, error) { return Read(dir, sheetThere) }

// newFolder makes a job folder.
func newFolder(t testing.TB) *Folder {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "job")
	require.NoError(t, Create(dir, anySheet))
	f, err := openFolder(dir)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, f.Close()) })
	return f
}

// sampleCapture is a backlash at a position.
func sampleCapture(position int, value float64) record.Capture {
	return record.Capture{
		Time: folderTime.Add(time.Duration(position) * time.Minute), Stage: record.StageAsFound, Feature: record.FeatureBacklash,
		Position: position, AngleDeg: 45 * float64(position-1), Value: value, Unit: "mm", U: 0.0015, N: 3,
		Low: -0.012, High: value - 0.012, Quality: record.QualityOK, Gauge: "indicator", Repeatability: 0.001,
		Convention: "normal", RadiusMM: 106, OwnU: 0.0004, HandU: 0.0012,
	}
}

func TestFolderKeepsCaptures(t *testing.T) {
	f := newFolder(t)
	var want []record.Capture
	for _, note := range []string{"", "plain", `with "quotes", and commas`, "=1+1", "'", "'=x", "-", "@here", "umlaut ä µ", " spaces "} {
		c := sampleCapture(len(want)+1, 0.171)
		c.Note = note
		if len(want) == 3 {
			c.U, c.Low, c.High, c.AngleDeg = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		}
		stored, err := f.Append(c)
		require.NoError(t, err)
		assert.Equal(t, len(want)+1, stored.ID)
		want = append(want, stored)
	}
	require.NoError(t, f.Close())
	snap, err := readFolder(f.Dir())
	require.NoError(t, err)
	assert.Empty(t, snap.Torn)
	require.Len(t, snap.Captures, len(want))
	for i := range want {
		assertSameCapture(t, want[i], snap.Captures[i])
	}
}

// assertSameCapture compares with NaN equal to NaN.
func assertSameCapture(t *testing.T, want, got record.Capture) {
	t.Helper()
	assert.Equal(t, string(appendOld(nil, want)), string(appendOld(nil, got)))
	assert.Equal(t, want.Note, got.Note)
	assert.True(t, want.Time.Equal(got.Time))
}

// TestCreateFolderLeavesNothingHalfMade when the sheet cannot be written. A
// folder in the sheet's place makes every system refuse it.
func TestCreateFolderLeavesNothingHalfMade(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "job")
	require.NoError(t, os.MkdirAll(filepath.Join(dir, SheetFile, "x"), folderMode))
	require.Error(t, fillFolder(dir, anySheet))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1)
	assert.Equal(t, SheetFile, entries[0].Name())
}

func TestCanCreate(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, CanCreate(dir))
	require.NoError(t, CanCreate(filepath.Join(dir, "not", "yet")))
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, fileMode))
	require.ErrorContains(t, CanCreate(dir), "directory is not empty")
	require.ErrorContains(t, CanCreate(file), "is a file")
}
