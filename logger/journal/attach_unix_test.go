//go:build !windows

package journal

import (
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// TestAttachDoesNotWaitForAPipe: nobody may ever write to it.
func TestAttachDoesNotWaitForAPipe(t *testing.T) {
	f := newFolder(t)
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	_, err := f.Attach(record.StageFinal, pipe, "", folderTime)
	require.ErrorContains(t, err, "not a file")
}
