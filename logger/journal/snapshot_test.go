package journal

import (
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
