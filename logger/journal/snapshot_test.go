package journal

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestReadingsRound(t *testing.T) {
	for path, want := range map[string]struct {
		round  string
		number int
	}{
		"readings/as-found-backlash-12.csv": {"as-found-backlash", 12},
		"set-up-2-backlash-3.csv":           {"set-up-2-backlash", 3},
		"as-found-backlash.csv":             {"as-found-backlash", 0},
		"7.csv":                             {"7", 0},
		"-7.csv":                            {"-7", 0},
	} {
		round, number := ReadingsRound(path)
		assert.Equal(t, want.round, round, path)
		assert.Equal(t, want.number, number, path)
	}
}

// TestFolderWithoutReadings is one in which everything was keyed.
func TestFolderWithoutReadings(t *testing.T) {
	paths, err := listReadings(filepath.Join(t.TempDir(), "readings"))
	require.NoError(t, err)
	assert.Empty(t, paths)
}

// TestOrderOfReadings: by stage and feature, then by number, not by letters.
func TestOrderOfReadings(t *testing.T) {
	dir := t.TempDir()
	want := []string{"as-found-backlash-2.csv", "as-found-backlash-10.csv", "bench-backlash-1.csv", "bench-backlash-01.csv"}
	for _, name := range append([]string{"notes.txt"}, want...) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, fileMode))
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "bench-backlash-3.csv"), folderMode))
	paths, err := listReadings(dir)
	require.NoError(t, err)
	var got []string
	for _, path := range paths {
		assert.Equal(t, dir, filepath.Dir(path))
		got = append(got, filepath.Base(path))
	}
	want[2], want[3] = want[3], want[2] // one number written in two ways: by letters
	assert.Equal(t, want, got)
	_, err = listReadings(filepath.Join(dir, "notes.txt"))
	assert.ErrorContains(t, err, "list readings: ")
}
