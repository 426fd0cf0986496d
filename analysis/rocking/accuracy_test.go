package rocking

import (
	"flag"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the measured figures to testdata/accuracy.md")

const (
	soundHead = "|Gauge|Traces|Median error|95th percentile|Max−min: median|95th percentile|Refused|False alarms|Covered by U|\n|---|--:|--:|--:|--:|--:|--:|--:|--:|\n"
	faultHead = "|Fault|Gauge|Traces|Named|Refused|Number wrong by more than 0.012|\n|---|---|--:|--:|--:|--:|\n"
)

func newTable(head string) *strings.Builder {
	table := new(strings.Builder)
	table.WriteString(head)
	return table
}

// keep compares a table with the section of that title in testdata/accuracy.md,
// or with -update writes it there, so that a change of accuracy is seen in the
// diff. Processors that round otherwise may move a trace over an edge.
func keep(t *testing.T, title string, table *strings.Builder) {
	t.Helper()
	path := filepath.Join("testdata", "accuracy.md")
	b, err := os.ReadFile(path)
	if !os.IsNotExist(err) {
		require.NoError(t, err)
	}
	head, rest, _ := strings.Cut(string(b), "\n## ")
	sections := map[string]string{}
	for _, s := range strings.Split(rest, "\n## ") {
		if name, body, ok := strings.Cut(s, "\n\n"); ok {
			sections[name] = strings.TrimRight(body, "\n") + "\n"
		}
	}
	if !*update {
		if runtime.GOARCH == "amd64" {
			assert.Equal(t, sections[title], table.String(), "%s: see the diff after -update", title)
		}
		return
	}
	sections[title] = table.String()
	for _, name := range slices.Sorted(maps.Keys(sections)) {
		head += "\n## " + name + "\n\n" + sections[name]
	}
	require.NoError(t, os.MkdirAll("testdata", 0o755))
	require.NoError(t, os.WriteFile(path, []byte(head), 0o644))
}
