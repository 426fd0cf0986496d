package logger

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestJobIsReadWithItsSheet(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "job")
	_, err := CreateJob(dir, []byte("schema = 1\n"))
	require.ErrorContains(t, err, "job.toml: vehicle.label: missing")
	require.NoDirExists(t, dir, "nothing is made for a wrong sheet")

	f, err := CreateJob(dir, ExampleTOML())
	require.NoError(t, err)
	assert.Equal(t, ExampleSheet(), f.Sheet())
	_, err = OpenJob(dir)
	require.ErrorIs(t, err, ErrFolderInUse)
	_, err = RecordNote(f, StageFinal, "sealant", testTime)
	require.NoError(t, err)
	snap, err := ReadJob(dir)
	require.NoError(t, err, "a reader needs no lock")
	assert.Equal(t, ExampleSheet(), snap.Sheet)
	assert.Len(t, snap.Captures, 1)
	require.NoError(t, f.Close())
	_, err = CreateJob(dir, ExampleTOML())
	require.ErrorContains(t, err, "job in it already")
}

// TestJobOfAnotherKind is refused by whatever opens it, and for the same reason.
func TestJobOfAnotherKind(t *testing.T) {
	none, newer, wrong := t.TempDir(), t.TempDir(), t.TempDir()
	text := strings.Replace(string(ExampleTOML()), "schema = 1", "schema = 2\nshiny = true", 1)
	require.NoError(t, os.WriteFile(filepath.Join(newer, "job.toml"), []byte(text), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(wrong, "job.toml"), []byte("schema = 1\n"), 0o600))
	for name, open := range map[string]func(string) error{
		"OpenJob":     func(dir string) error { _, err := OpenJob(dir); return err },
		"ReadJob":     func(dir string) error { _, err := ReadJob(dir); return err },
		"ExamineJob":  func(dir string) error { _, err := ExamineJob(dir); return err },
		"SetJobAside": func(dir string) error { _, err := SetJobAside(dir); return err },
	} {
		t.Run(name, func(t *testing.T) {
			require.ErrorIs(t, open(none), ErrNotJobFolder)
			require.ErrorIs(t, open(newer), ErrNewerSchema)
			var mistake *SheetError
			require.ErrorAs(t, open(wrong), &mistake)
			assert.Equal(t, "vehicle.label", mistake.Key)
		})
	}
}

// TestLostMoveIsOfTheFirstStageWithMoves: what is as found stays as it was.
func TestLostMoveIsOfTheFirstStageWithMoves(t *testing.T) {
	for _, tt := range []struct {
		stages []string
		want   string
	}{
		{nil, StageBench}, {[]string{StageAsFound}, StageAsFound}, {[]string{StageAsFound, "second", "third"}, "second"}, {[]string{"first", StageAsFound}, "first"},
	} {
		assert.Equal(t, tt.want, stageOfMoves(Sheet{Stages: tt.stages}))
	}

	dir := filepath.Join(t.TempDir(), "job")
	f, err := CreateJob(dir, ExampleTOML())
	require.NoError(t, err)
	for range 2 {
		_, err = RecordMove(f, StageSetUp, Move{Amount: 1, Unit: "notch"}, testTime)
		require.NoError(t, err)
	}
	require.NoError(t, f.Close())
	path := filepath.Join(dir, "captures.csv")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(text), "1,0,", "1,1,", 1)), 0o600))
	m, err := ExamineJob(dir)
	require.NoError(t, err)
	assert.Equal(t, 1, m.Sound)
	assert.Equal(t, StageBench, m.Captures[0].Stage)
	_, err = SetJobAside(dir)
	require.NoError(t, err)
	snap, err := ReadJob(dir)
	require.NoError(t, err)
	assert.Len(t, snap.Captures, 2)
}
