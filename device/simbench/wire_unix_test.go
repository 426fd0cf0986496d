//go:build unix

package simbench

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
)

// A program that waits for a port of the same number to come back may hold ours.
func TestPortTakenByAnotherProgramIsLeftToIt(t *testing.T) {
	b := startBench(t, Config{Seed: 5})
	other, _, err := device.PortOpener(b.Indicator.name, device.Serial{})(t.Context())
	require.NoError(t, err)
	defer other.Close()
	assert.Len(t, readings(t, b, b.Indicator, 3), 3)
	_, err = other.Read(make([]byte, 8))
	assert.ErrorIs(t, err, &device.PortError{Reason: device.PortGone})
}
