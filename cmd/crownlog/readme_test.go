package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestReadmeNamesWhatIsThere asks for the help of every command that the README
// names, with the flags it gives.
func TestReadmeNamesWhatIsThere(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	text := strings.ReplaceAll(string(readme), "\\\n", " ")
	named := regexp.MustCompile("(?m)(?:`crownlog\\s+([^`]+)`|^ {4,}crownlog (.+)$|^ {4,}go run ./cmd/crownlog (.+)$)").FindAllStringSubmatch(text, -1)
	require.Greater(t, len(named), 15)
	for _, n := range named {
		line := strings.TrimSpace(n[1] + n[2] + n[3])
		verb, rest, _ := strings.Cut(line, " ")
		if next, after, _ := strings.Cut(rest, " "); verb == "job" || verb == "profiles" && next == "check" {
			verb, rest = verb+" "+next, after
		}
		var stdout, stderr bytes.Buffer
		code := run(t.Context(), append(strings.Fields(verb), "--help"), strings.NewReader(""), &stdout, &stderr)
		assert.Equal(t, exitOK, code, "%s: %s", line, stderr.String())
		for _, flag := range regexp.MustCompile(`--[a-z-]+`).FindAllString(rest, -1) {
			assert.Regexp(t, flag+`\b`, stdout.String(), line)
		}
	}
}
