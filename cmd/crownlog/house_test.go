package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const root = "../.."

// ownImports is who may know whom among our own packages, by folder. A folder
// not listed may know nothing of ours.
var ownImports = map[string][]string{
	"analysis":                {"crownlog/analysis/gum", "crownlog/analysis/units", "crownlog/analysis/internal/stat"},
	"analysis/gum":            {},
	"analysis/units":          {},
	"analysis/internal/stat":  {},
	"analysis/internal/check": {},
	"analysis/motion":         measurement(),
	"analysis/rocking":        measurement(),
	"analysis/leak":           measurement(),
	"analysis/runout":         measurement("crownlog/analysis/motion"),
	"analysis/torque":         measurement("crownlog/analysis/motion"),
	"analysis/setup":          measurement("crownlog/analysis/torque"),
	"device":                  {"crownlog/device/frame"},
	"device/frame":            {},
	"device/identify":         {"crownlog/device", "crownlog/device/frame"},
	"device/simbench":         {"crownlog/device"},
	"logger":                  measuring("crownlog/device", "crownlog/device/frame"),
	"logger/report":           measuring("crownlog/logger"),
	"cmd/crownlog/dashboard":  measuring("crownlog/device", "crownlog/device/frame", "crownlog/logger"),
	"cmd/crownlog/live":       measuring("crownlog/device", "crownlog/device/frame", "crownlog/logger"),
	"cmd/crownlog/rehearse":   measuring("crownlog/device", "crownlog/device/frame", "crownlog/device/simbench", "crownlog/logger", "crownlog/cmd/crownlog/live"),
	"cmd/crownlog": measuring("crownlog/device", "crownlog/device/frame", "crownlog/device/identify", "crownlog/device/simbench", "crownlog/logger",
		"crownlog/logger/report", "crownlog/cmd/crownlog/dashboard", "crownlog/cmd/crownlog/live", "crownlog/cmd/crownlog/rehearse"),
}

// measurement is what a package that measures one thing may know.
func measurement(more ...string) []string {
	return append([]string{"crownlog/analysis", "crownlog/analysis/gum", "crownlog/analysis/units", "crownlog/analysis/internal/stat"}, more...)
}

// measuring is what a package that uses the measurements may know.
func measuring(more ...string) []string {
	return append([]string{"crownlog/analysis", "crownlog/analysis/gum", "crownlog/analysis/units", "crownlog/analysis/motion", "crownlog/analysis/rocking",
		"crownlog/analysis/leak", "crownlog/analysis/runout", "crownlog/analysis/torque", "crownlog/analysis/setup"}, more...)
}

// analysisMayUse is the whole outside world of the analysis packages: numbers
// and text, no files, no network, no clock, no goroutines.
var analysisMayUse = []string{"cmp", "errors", "fmt", "iter", "maps", "math", "math/bits", "math/cmplx", "slices",
	"sort", "strconv", "strings", "unicode", "unicode/utf8"}

func TestArrowsGoOneWay(t *testing.T) {
	for dir, imports := range importsByFolder(t) {
		for _, path := range imports {
			if strings.HasPrefix(path, "crownlog/") {
				assert.Contains(t, ownImports[dir], path, "%s imports %s", dir, path)
			}
		}
	}
}

func TestAnalysisIsPure(t *testing.T) {
	folders := importsByFolder(t)
	require.NotEmpty(t, folders["analysis"])
	for dir, imports := range folders {
		if dir != "analysis" && !strings.HasPrefix(dir, "analysis/") || dir == "analysis/internal/check" { // check is for tests
			continue
		}
		for _, path := range imports {
			if !strings.HasPrefix(path, "gonum.org/v1/gonum/") && !strings.HasPrefix(path, "crownlog/") {
				assert.Contains(t, analysisMayUse, path, dir)
			}
		}
	}
}

func TestEveryFolderIsInTheHouse(t *testing.T) {
	for dir := range importsByFolder(t) {
		assert.Contains(t, ownImports, dir, "a package nobody planned")
	}
}

// TestTopLevelHoldsOnlyItsRooms looks at what git tracks: a job folder somebody
// made while trying things out is nobody's business.
func TestTopLevelHoldsOnlyItsRooms(t *testing.T) {
	tracked, err := exec.Command("git", "-C", root, "ls-files").Output()
	if err != nil {
		t.Skip("not a checkout of git:", err)
	}
	allowed := []string{"cmd", "device", "logger", "analysis", "testdata", "udev",
		"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE", ".ci", ".gitignore"}
	for path := range strings.Lines(string(tracked)) {
		top, _, _ := strings.Cut(strings.TrimSpace(path), "/")
		assert.Contains(t, allowed, top)
	}
}

// importsByFolder returns the imports of the non-test files of every package,
// keyed by the folder's path from the top.
func importsByFolder(t *testing.T) map[string][]string {
	t.Helper()
	byFolder := map[string][]string{}
	walk := func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		dir := filepath.ToSlash(rel)
		for _, spec := range file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			byFolder[dir] = append(byFolder[dir], imported)
		}
		return nil
	}
	require.NoError(t, filepath.WalkDir(root, walk))
	return byFolder
}
