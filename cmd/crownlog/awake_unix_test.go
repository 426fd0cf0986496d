//go:build unix

package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMachineIsKeptAwakeWhileItLasts: with a program of that name which runs the
// command behind its options, as the real ones do.
func TestMachineIsKeptAwakeWhileItLasts(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("PATH", dir+string(os.PathListSeparator)+os.Getenv("PATH"))
	tool := func(script string) {
		for _, name := range []string{"systemd-inhibit", "caffeinate"} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("#!/bin/sh\n"+script), 0o755))
		}
	}
	mark := filepath.Join(dir, "ended")
	tool(`while case $1 in -*) true;; *) false;; esac; do shift; done; "$@"; echo >` + mark)
	stop, err := keepAwake()
	require.NoError(t, err)
	time.Sleep(20 * time.Millisecond)
	assert.NoFileExists(t, mark)
	stop()
	assert.FileExists(t, mark, "it is waited for")

	tool("echo Access denied >&2; exit 1")
	_, err = keepAwake()
	assert.ErrorContains(t, err, "exit status 1")

	t.Setenv("PATH", t.TempDir())
	_, err = keepAwake()
	assert.ErrorContains(t, err, "not found")
}
