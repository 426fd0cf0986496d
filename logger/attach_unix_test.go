//go:build !windows

package logger

import (
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestAttachDoesNotWaitForAPipe: nobody may ever write to it.
func TestAttachDoesNotWaitForAPipe(t *testing.T) {
	f := newFolder(t)
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	_, err := f.Attach(StageFinal, pipe, "", folderTime)
	require.ErrorContains(t, err, "not a file")
}
