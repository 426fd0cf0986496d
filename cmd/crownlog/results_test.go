package main

import (
	"bytes"
	"context"
	"errors"
	"os"
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

// TestNothingPrintedIsObeyed: a sheet and a record are anybody's files.
func TestNothingPrintedIsObeyed(t *testing.T) {
	var out, errs bytes.Buffer
	con := &console{out: &results{to: &out}, err: &errs}
	const evil = "a\x1b[2Jb\u202ec\u0085d\re\tf\n"
	n, err := con.out.Write([]byte(evil))
	require.NoError(t, err)
	assert.Equal(t, len(evil), n)
	const shown = "a\ufffd[2Jb\ufffdc\ufffdd\ufffde\tf\n"
	assert.Equal(t, shown, out.String())
	con.say("%s", evil)
	assert.Equal(t, "crownlog: "+shown+"\n", errs.String())

	j := newPinnedJob(t, strings.Replace(pinnedSheet, "label = \"", "label = \"\\u001b[31m\\u202e", 1))
	said := j.do("job", "show", j.dir)
	assert.NotContains(t, said, "\x1b")
	assert.NotContains(t, said, "\u202e")
	j.do("export", j.dir, "--html")
	page, err := os.ReadFile(filepath.Join(j.dir, "report.html"))
	require.NoError(t, err)
	assert.NotContains(t, string(page), "\u202e")
	assert.NotContains(t, string(page), "\x1b")
}
