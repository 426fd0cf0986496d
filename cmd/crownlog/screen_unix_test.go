//go:build unix

package main

import (
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A terminal that cannot be drawn on gets plain lines.
func TestDashboardIsForTerminalsThatAreKnown(t *testing.T) {
	master, slave, err := pty.Open()
	require.NoError(t, err)
	defer master.Close()
	defer slave.Close()
	for kind, want := range map[string]bool{"": false, "dumb": false, "no-such-terminal": false, "xterm-256color": true} {
		t.Setenv("TERM", kind)
		assert.Equal(t, want, (&console{out: &results{to: slave}}).screen(), kind)
	}
}
