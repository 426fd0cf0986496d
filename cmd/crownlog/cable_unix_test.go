//go:build unix

package main

import (
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

// A cable that types into the dashboard is a gauge: each burst is a reading on
// record, none is a backlash or a command, and a hand types beside it.
func TestACableTypesIntoTheDashboard(t *testing.T) {
	dir := fourPlaces(t)
	cmd := exec.Command("crownlog", "measure", dir, "--port", device.ThisKeyboard, "--feature", "backlash", "--stage", "as-found")
	cmd.Env = append(cmd.Environ(), "TERM=xterm-256color")
	terminal, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 100})
	require.NoError(t, err)
	defer terminal.Close()
	var seen screenful
	go func() { _, _ = io.Copy(&seen, terminal) }()
	write := func(keys string) {
		_, err := terminal.WriteString(keys)
		require.NoError(t, err)
	}
	read := func() (raw []string) {
		files, err := filepath.Glob(filepath.Join(dir, "readings", "*.csv"))
		require.NoError(t, err)
		for _, f := range files {
			for ev, err := range journal.ReadReadings(f) {
				require.NoError(t, err)
				if ev.Kind == device.EventReading && ev.Reading.Flags&frame.FlagPress != 0 {
					raw = append(raw, ev.Reading.Raw)
				}
			}
		}
		return raw
	}
	require.Eventually(t, func() bool { return strings.Contains(seen.String(), "position 1") }, 20*time.Second, 10*time.Millisecond)
	for i, burst := range []string{"0.012\r", "0.163 mm\r", "+0.013\t", "0.164\n"} {
		write(burst)
		require.Eventually(t, func() bool { return len(read()) == i+1 }, 20*time.Second, 10*time.Millisecond, burst)
	}
	assert.Equal(t, []string{"0.012", "0.163 mm", "+0.013", "0.164"}, read())
	assert.Empty(t, at(t, dir, record.FeatureBacklash))
	for _, key := range "0.15\r" {
		time.Sleep(120 * time.Millisecond)
		write(string(key))
	}
	require.Eventually(t, func() bool { return len(at(t, dir, record.FeatureBacklash)) == 1 }, 20*time.Second, 10*time.Millisecond)
	assert.InDelta(t, 0.15, at(t, dir, record.FeatureBacklash)[1], 1e-9)
	assert.Len(t, read(), 4)
	write("q")
	_ = cmd.Wait()
}
