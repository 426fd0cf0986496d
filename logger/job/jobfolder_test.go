package job

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/strict"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

var testTime = time.Date(2026, 3, 4, 9, 30, 0, 123456789, time.UTC)

func TestJobIsReadWithItsSheet(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "job")
	_, err := Create(dir, []byte("schema = 1\n"))
	require.ErrorContains(t, err, "job.toml: vehicle.label: missing")
	require.NoDirExists(t, dir, "nothing is made for a wrong sheet")

	f, err := Create(dir, sheet.ExampleTOML())
	require.NoError(t, err)
	assert.Equal(t, sheet.Example(), f.Sheet())
	_, err = Open(dir)
	require.ErrorIs(t, err, journal.ErrFolderInUse)
	_, err = record.AddNote(f, record.StageFinal, "sealant", testTime)
	require.NoError(t, err)
	snap, err := Read(dir)
	require.NoError(t, err, "a reader needs no lock")
	assert.Equal(t, sheet.Example(), snap.Sheet)
	assert.Len(t, snap.Captures, 1)
	require.NoError(t, f.Close())
	_, err = Create(dir, sheet.ExampleTOML())
	require.ErrorContains(t, err, "job in it already")
}

// TestJobOfAnotherKind is refused by whatever opens it, and for the same reason.
func TestJobOfAnotherKind(t *testing.T) {
	none, newer, wrong := t.TempDir(), t.TempDir(), t.TempDir()
	text := strings.Replace(string(sheet.ExampleTOML()), "schema = 2", "schema = 3\nshiny = true", 1)
	require.NoError(t, os.WriteFile(filepath.Join(newer, "job.toml"), []byte(text), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(wrong, "job.toml"), []byte("schema = 1\n"), 0o600))
	for name, open := range map[string]func(string) error{
		"OpenJob":     func(dir string) error { _, err := Open(dir); return err },
		"ReadJob":     func(dir string) error { _, err := Read(dir); return err },
		"ExamineJob":  func(dir string) error { _, err := ExamineJob(dir); return err },
		"SetJobAside": func(dir string) error { _, err := SetJobAside(dir); return err },
	} {
		t.Run(name, func(t *testing.T) {
			require.ErrorIs(t, open(none), journal.ErrNotJobFolder)
			require.ErrorIs(t, open(newer), sheet.ErrNewerSchema)
			var mistake *strict.Error
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
		{nil, record.StageSetUp}, {[]string{record.StageAsFound}, record.StageAsFound}, {[]string{record.StageAsFound, "second", "third"}, "second"}, {[]string{"first", record.StageAsFound}, "first"},
	} {
		assert.Equal(t, tt.want, stageOfMoves(sheet.Sheet{Stages: tt.stages}))
	}

	dir := filepath.Join(t.TempDir(), "job")
	f, err := Create(dir, sheet.ExampleTOML())
	require.NoError(t, err)
	for range 2 {
		_, err = record.AddMove(f, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
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
	assert.Equal(t, record.StageSetUp, m.Captures[0].Stage)
	_, err = SetJobAside(dir)
	require.NoError(t, err)
	snap, err := Read(dir)
	require.NoError(t, err)
	assert.Len(t, snap.Captures, 2)
}

func TestMovesMayComeFromTheFirstStageThatIsNotAsFound(t *testing.T) {
	for want, stages := range map[string][]string{
		record.StageSetUp: {record.StageSetUp, record.StageAsFound}, record.StageBench: {record.StageAsFound, record.StageBench, record.StageFinal},
		record.StageAsFound: {record.StageAsFound},
	} {
		assert.Equal(t, want, stageOfMoves(sheet.Sheet{Stages: stages}))
	}
}
