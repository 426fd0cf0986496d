//go:build unix

package main

import (
	"path/filepath"
	"testing"
	"time"

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
	cmd, write, sees := atTheKeys(t, "measure", dir, "--port", device.ThisKeyboard, "--feature", "backlash", "--stage", "as-found")
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
	sees("position 1")
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
