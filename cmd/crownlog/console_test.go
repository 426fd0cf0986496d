package main

import (
	"bytes"
	"os/exec"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestCommandsCanBeTyped: a shell reads back what the words were.
func TestCommandsCanBeTyped(t *testing.T) {
	assert.Equal(t, "crownlog measure jobs/axle --port /dev/ttyUSB0", shellCommand("measure", "jobs/axle", "--port", "/dev/ttyUSB0"))
	words := []string{"my axle", "O'Brien's", "$HOME", "a;b", `back\slash`, "`date`", "", "gauge\nname", "ümlaut"}
	line := strings.TrimPrefix(shellCommand(words...), "crownlog")
	if runtime.GOOS == "windows" {
		assert.Contains(t, line, `"my axle"`)
		return
	}
	out, err := exec.Command("sh", "-c", `printf '%s\0'`+line).Output()
	require.NoError(t, err)
	assert.Equal(t, strings.Join(words, "\x00")+"\x00", string(out))
}

func TestJSONKeepsItsCharacters(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, (&console{out: &out}).json([]string{"gap < 0.1 & > 0"}))
	assert.Equal(t, "[\"gap < 0.1 & > 0\"]\n", out.String())
}
