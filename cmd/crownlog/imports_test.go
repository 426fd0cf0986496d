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

// ownImports is who may know whom among our own packages, by folder, each arrow
// without "crownlog/". A folder not listed may know nothing of ours.
var ownImports = map[string]string{
	"analysis":                 "analysis/gum analysis/internal/stat",
	"analysis/gum":             "",
	"analysis/units":           "",
	"analysis/internal/stat":   "",
	"analysis/internal/digit":  "",
	"analysis/internal/dwells": "analysis analysis/internal/digit analysis/internal/stat",
	"analysis/internal/check":  "",
	"analysis/internal/noted":  "analysis",
	"analysis/motion":          measurement,
	"analysis/rocking":         measurement + " analysis/internal/digit analysis/internal/dwells",
	"analysis/leak":            measurement,
	"analysis/runout":          measurement + " analysis/motion",
	"analysis/torque":          measurement + " analysis/motion",
	"analysis/setup":           measurement + " analysis/torque",
	"device":                   "device/frame device/strict",
	"device/frame":             "",
	"device/strict":            "",
	"device/identify":          "device device/frame",
	"device/simbench":          "device",
	"logger/record":            "analysis/units",
	"logger/words":             measured,
	"logger/journal":           "logger/record device device/frame",
	"logger/sheet":             "logger/words logger/record device/strict " + measured,
	"logger/feature":           "logger/words logger/record logger/sheet device/frame " + measured,
	"logger/job":               "logger/words logger/record logger/sheet logger/journal logger/feature " + measured,
	"logger":                   "logger/words logger/record logger/sheet logger/journal logger/feature logger/job device device/frame " + measured,
	"logger/verify":            "logger logger/record logger/sheet logger/journal",
	"logger/export":            "logger/record logger/sheet logger/journal logger/feature logger/job device " + measured,
	"logger/report":            "logger/words logger/record logger/sheet logger/journal logger/feature logger/job " + measured,
	"cmd/crownlog/live":        "logger logger/record logger/sheet logger/journal logger/feature logger/job device analysis/units",
	"cmd/crownlog/dashboard":   "logger/words logger logger/record logger/feature logger/job device device/frame " + measured,
	"cmd/crownlog/phone":       "cmd/crownlog/live logger logger/record logger/feature logger/job analysis/units analysis/setup",
	"cmd/crownlog/rehearse": "cmd/crownlog/live logger logger/record logger/export logger/feature logger/job device device/simbench " +
		"logger/words analysis/gum",
	"cmd/crownlog": "logger/words cmd/crownlog/live cmd/crownlog/dashboard cmd/crownlog/phone cmd/crownlog/rehearse logger logger/record logger/sheet logger/journal " +
		"logger/feature logger/job logger/export logger/report logger/verify device device/frame device/identify device/simbench " + measured,
}

// What a package that measures one thing may know, and a package that uses the
// measurements.
const (
	measurement = "analysis analysis/gum analysis/units analysis/internal/stat"
	measured    = "analysis analysis/gum analysis/units analysis/rocking analysis/motion analysis/runout analysis/torque analysis/leak analysis/setup"
)

// analysisMayUse is the whole outside world of the analysis packages: numbers
// and text, no files, no network, no clock, no goroutines.
var analysisMayUse = []string{"cmp", "errors", "fmt", "iter", "maps", "math", "math/bits", "math/cmplx", "slices",
	"sort", "strconv", "strings", "unicode", "unicode/utf8"}

func TestArrowsGoOneWay(t *testing.T) {
	for dir, imports := range importsByFolder(t) {
		for _, path := range imports {
			if own, ok := strings.CutPrefix(path, "crownlog/"); ok {
				assert.Contains(t, strings.Fields(ownImports[dir]), own, "%s imports %s", dir, path)
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

func TestEveryPackageIsPlanned(t *testing.T) {
	for dir := range importsByFolder(t) {
		assert.Contains(t, ownImports, dir, "a package nobody planned")
	}
}

// TestTopLevelHoldsOnlyWhatIsPlanned looks at what git tracks: a job folder somebody
// made while trying things out is nobody's business.
func TestTopLevelHoldsOnlyWhatIsPlanned(t *testing.T) {
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
