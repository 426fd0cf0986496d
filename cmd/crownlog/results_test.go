package main

import (
	"bytes"
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/job"
	"crownlog/logger/sheet"
)

// space is a place with room for a number of bytes.
type space int

var errNoRoom = errors.New("no room")

func (f *space) Write(p []byte) (int, error) {
	if len(p) > int(*f) {
		n := int(*f)
		*f = 0
		return n, errNoRoom
	}
	*f -= space(len(p))
	return len(p), nil
}

func TestResultsThatCannotBePrintedAreAnError(t *testing.T) {
	j := filepath.Join(t.TempDir(), "job")
	folder, err := job.Create(j, sheet.ExampleTOML())
	require.NoError(t, err)
	require.NoError(t, folder.Close())
	trace := filepath.Join(root, "testdata", "traces", "runout-12-points.csv")
	for _, c := range []string{
		"analyse " + trace,
		"analyse --json " + trace,
		"job show " + j,
		"job show --json " + j,
		"job check " + j,
		"job note " + j + " sealed",
		"replay --json " + j,
		"export --csv " + j,
		"export --json " + j,
		"profiles list",
		"profiles show text",
		"version",
		"completion bash",
		"completion fish",
		"--help",
	} {
		for room := range space(2) {
			var stderr bytes.Buffer
			out := room
			code := run(context.Background(), strings.Fields(c), nil, &out, &stderr)
			assert.Equal(t, exitRecord, code, c)
			assert.Regexp(t, `^crownlog: .*results could not be printed: no room; what was recorded is safe\n$`, stderr.String(), c)
		}
	}
}

func TestNothingIsPrintedAfterAGap(t *testing.T) {
	room := space(3)
	out := &results{to: &room}
	n, err := out.Write([]byte("four"))
	assert.Equal(t, 3, n)
	require.ErrorIs(t, err, errNoRoom)
	room = 100
	n, err = out.Write([]byte("more"))
	assert.Zero(t, n)
	assert.ErrorIs(t, err, errNoRoom)
}
