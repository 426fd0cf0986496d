package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestNoColorIsHonoured(t *testing.T) {
	t.Setenv("NO_COLOR", "")
	assert.False(t, noColor(), "an empty one is not set")
	t.Setenv("NO_COLOR", "1")
	assert.True(t, noColor())
}

func TestJobViewTellsOfPhotos(t *testing.T) {
	folder, err := job.Create(filepath.Join(t.TempDir(), "job"), sheet.ExampleTOML())
	require.NoError(t, err)
	defer folder.Close()
	show := jobSource(folder).Job
	assert.Empty(t, show().Attached)
	photo := filepath.Join(t.TempDir(), "IMG_1.jpg")
	require.NoError(t, os.WriteFile(photo, make([]byte, 1_240_000), 0o600))
	_, err = folder.Attach(record.StageAsFound, photo, "photo of the cap marks, backlash", time.Now())
	require.NoError(t, err)
	assert.Equal(t, []string{"photo of the cap marks, backlash, 1.24 MB"}, show().Attached)
	require.NoError(t, os.RemoveAll(filepath.Join(folder.Dir(), record.AttachmentsDir)))
	_, err = folder.Attach(record.StageAsFound, photo, "", time.Now())
	require.NoError(t, err)
	assert.Equal(t, []string{"attachments/0002-IMG_1.jpg, 1.24 MB"}, show().Attached, "one that is gone is not told as there")
}
