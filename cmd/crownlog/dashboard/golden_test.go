package dashboard

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/setup"
	"crownlog/logger/record"
)

var update = flag.Bool("update", false, "rewrite the golden screens")

// sizes are the screens every view is drawn at: the smallest full one, a
// usual one and a large one.
var sizes = []struct{ w, h int }{{80, 24}, {120, 40}, {200, 60}}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name+".txt")
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

func TestTextOfEveryScene(t *testing.T) {
	for _, s := range scenes {
		for _, z := range sizes {
			name := fmt.Sprintf("%s-%dx%d", s.name, z.w, z.h)
			t.Run(name, func(t *testing.T) { golden(t, name, screenText(s.view, z.w, z.h)) })
		}
	}
}

func TestJobPatternAndHelp(t *testing.T) {
	entry := PatternEntry{Form: "tapered", Drive: &setup.Contact{Along: -0.6, Up: 0.1}}
	coast := base(record.FeaturePatternCoast)
	coast.Action = "Move the mark to where the compound is bare, then press enter."
	within := roundScene{View: doneScene(), moves: jobScene().Moves}
	within.onward = onward(jobScene(), within.View)
	settled := roundScene{View: insideScene()}
	settled.onward = onward(jobScene(), settled.View)
	for _, page := range []struct {
		name  string
		paint func(c canvas)
	}{
		{"job", func(c canvas) { paintJob(c, jobScene(), jobState{}, roundScene{View: doneScene()}) }},
		{"job-fixed", func(c canvas) { paintJob(c, jobScene(), jobState{stays: true}, roundScene{View: doneScene()}) }},
		{"done-in-job", func(c canvas) { paintRound(c, within) }},
		{"inside-in-job", func(c canvas) { paintRound(c, settled) }},
		{"job-override", func(c canvas) {
			paintJob(c, jobScene(), jobState{}, roundScene{View: doneScene()})
			paintTyped(c.pane(0, c.h-1, c.w, 1), typedLine{what: typedReason, text: "gear replaced tomorrow"}, "")
		}},
		{"pattern", func(c canvas) { paintPattern(c, roundScene{View: coast}, entry, &setup.Contact{Along: -0.5}) }},
		{"help", func(c canvas) { paintHelp(c, "Keep fingers clear of the teeth.") }},
	} {
		for _, z := range sizes {
			name := fmt.Sprintf("%s-%dx%d", page.name, z.w, z.h)
			t.Run(name, func(t *testing.T) {
				c := newCanvas(z.w, z.h, false)
				page.paint(c)
				golden(t, name, c.String())
			})
		}
	}
}

// TestReadmeShowsOneScreen: the picture in the README is from a run of the
// program, so no golden screen is like it; but its frame is that of one.
func TestReadmeShowsOneScreen(t *testing.T) {
	readme, err := os.ReadFile("../../../README.md")
	require.NoError(t, err)
	assert.Less(t, len(readme), 12*1024, "it is for somebody with oily hands")
	pictures := regexp.MustCompile("(?s)```text\n(.*?)\n```").FindAllStringSubmatch(string(readme), -1)
	require.Len(t, pictures, 1)
	picture := strings.Split(pictures[0][1], "\n")
	file, err := os.ReadFile("testdata/measuring-80x24.txt")
	require.NoError(t, err)
	golden := strings.Split(strings.TrimRight(string(file), "\n"), "\n")
	require.Len(t, picture, len(golden))
	for i, line := range picture {
		assert.LessOrEqual(t, utf8.RuneCountInString(line), 80, line)
		if i == len(golden)-5 || i == len(golden)-1 { // the rule and the keys
			assert.Equal(t, strings.TrimRight(golden[i], " "), line)
		}
	}
	assert.Contains(t, picture[0], "INVENTED DATA")
}
