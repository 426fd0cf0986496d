//go:build unix

package main

import (
	"io"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// atTheKeys runs the program on a terminal of its own: write types, and sees waits
// for what it draws.
func atTheKeys(t *testing.T, args ...string) (cmd *exec.Cmd, write, sees func(text string)) {
	cmd = exec.Command("crownlog", args...)
	cmd.Env = append(cmd.Environ(), "TERM=xterm-256color")
	terminal, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 100})
	require.NoError(t, err)
	t.Cleanup(func() { terminal.Close() })
	var seen screenful
	go func() { _, _ = io.Copy(&seen, terminal) }()
	write = func(keys string) {
		_, err := terminal.WriteString(keys)
		require.NoError(t, err)
	}
	sees = func(text string) {
		t.Helper()
		require.Eventually(t, func() bool { return strings.Contains(seen.String(), text) }, 20*time.Second, 10*time.Millisecond, text)
	}
	return cmd, write, sees
}

// What is pasted is one piece: a whole file by mistake is refused at once and
// stores nothing, and one value waits for enter.
func TestPasteIsOnePiece(t *testing.T) {
	dir := fourPlaces(t)
	cmd, write, sees := atTheKeys(t, "measure", dir, "--keyed")
	paste := func(text string) { write("\x1b[200~" + text + "\x1b[201~") }
	sees("\x1b[?2004h")
	sees("position 1")
	began := time.Now()
	paste(strings.Repeat("0.15\r", 8000))
	sees("nothing of it was taken")
	assert.Less(t, time.Since(began), 2*time.Second)
	assert.Empty(t, at(t, dir, record.FeatureBacklash))
	paste(strings.Repeat("q", 40_000)) // and nothing of it is a key
	paste("0.16 mm\r")
	sees("0.16 mm_")
	assert.Empty(t, at(t, dir, record.FeatureBacklash), "stored before it was looked at")
	write("\r")
	require.Eventually(t, func() bool { return len(at(t, dir, record.FeatureBacklash)) == 1 }, 20*time.Second, 10*time.Millisecond)
	assert.InDelta(t, 0.16, at(t, dir, record.FeatureBacklash)[1], 1e-9)
	write("q")
	_ = cmd.Wait()
}
