package dashboard

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"crownlog/analysis/setup"
	"crownlog/logger"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
			t.Run(name, func(t *testing.T) { golden(t, name, screenText(s.view, z.w, z.h, Options{})) })
		}
	}
}

func TestJobPatternAndHelp(t *testing.T) {
	entry := PatternEntry{Form: "tapered"}
	drawn := patternState{drive: flankState{contact: setup.Contact{Along: -0.6, Up: 0.1}, stored: true}, coast: flankState{contact: setup.Contact{Along: -0.5}}}
	coast := base(logger.FeaturePatternCoast)
	coast.Action = "Move the mark to where the compound is bare, then press enter."
	typing := jobState{typing: true, reason: "gear replaced tomorrow"}
	within := roundScene{View: doneScene(), moves: jobScene().Moves}
	within.onward = onward(jobScene(), within.View)
	settled := roundScene{View: insideScene()}
	settled.onward = onward(jobScene(), settled.View)
	for _, page := range []struct {
		name  string
		paint func(c canvas)
	}{
		{"job", func(c canvas) { paintJob(c, jobScene(), jobState{}) }},
		{"job-fixed", func(c canvas) { paintJob(c, jobScene(), jobState{fixed: true, stays: true}) }},
		{"done-in-job", func(c canvas) { paintRound(c, within) }},
		{"inside-in-job", func(c canvas) { paintRound(c, settled) }},
		{"job-override", func(c canvas) { paintJob(c, jobScene(), typing) }},
		{"pattern", func(c canvas) { paintPattern(c, coast, entry, drawn, "") }},
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

// TestReadmeShowsTheScreens keeps the pictures in the README true.
func TestReadmeShowsTheScreens(t *testing.T) {
	readme, err := os.ReadFile("../../../README.md")
	require.NoError(t, err)
	files, err := filepath.Glob("testdata/*-80x24.txt")
	require.NoError(t, err)
	screens := make(map[string]string)
	for _, file := range files {
		screen, err := os.ReadFile(file)
		require.NoError(t, err)
		screens[strings.TrimRight(regexp.MustCompile(` +\n`).ReplaceAllString(string(screen), "\n"), " \n")] = file
	}
	pictures := regexp.MustCompile("(?s)```text\n(.*?)\n```").FindAllStringSubmatch(string(readme), -1)
	require.Greater(t, len(pictures), 10)
	for _, picture := range pictures {
		title, _, _ := strings.Cut(picture[1], "\n")
		assert.Contains(t, screens, strings.TrimRight(picture[1], " \n"), "no golden screen is like the picture under %q", title)
	}
}
