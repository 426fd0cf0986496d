//go:build unix

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestUnknownTerminalIsRefusedBeforeAnythingIsMade(t *testing.T) {
	t.Setenv("TERM", "no-such-terminal")
	master, slave, err := pty.Open()
	require.NoError(t, err)
	defer master.Close()
	defer slave.Close()

	dir := t.TempDir()
	j, fresh := filepath.Join(dir, "job"), filepath.Join(dir, "fresh")
	folder, err := job.Create(j, sheet.ExampleTOML())
	require.NoError(t, err)
	readings, err := folder.Readings(record.StageAsFound, record.FeatureBacklash)
	require.NoError(t, err)
	require.NoError(t, readings.Record(device.Event{Kind: device.EventEnd, Gauge: "dial"}))
	require.NoError(t, readings.Close())
	require.NoError(t, folder.Close())
	before := read(t, filepath.Join(j, "captures.csv"))

	for _, args := range [][]string{
		{"rehearse", "--dir", fresh},
		{"measure", j, "--port", "/dev/null", "--override", "not now"},
		{"replay", j, "as-found-backlash", "--pace", "1"},
	} {
		var stderr bytes.Buffer
		assert.Equal(t, exitUsage, run(t.Context(), args, slave, slave, &stderr), args[0])
		assert.Equal(t, "crownlog: terminal type \"no-such-terminal\" is not known here; "+
			"set TERM to a type it knows, such as xterm-256color, or give --no-screen\n", stderr.String(), args[0])
	}
	assert.NoDirExists(t, fresh)
	assert.Equal(t, before, read(t, filepath.Join(j, "captures.csv")))
}

func read(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(b)
}
