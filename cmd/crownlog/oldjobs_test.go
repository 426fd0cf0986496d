package main

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// TestOldJobsTellTheSame opens job folders of an earlier program: what is told
// of them, and what is learned from their moves, stays byte for byte. The
// journal is only read.
func TestOldJobsTellTheSame(t *testing.T) {
	for _, name := range []string{"outside", "partial", "whole"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			j := &pinnedJob{t: t, dir: filepath.Join(t.TempDir(), "job")}
			old := os.DirFS(filepath.Join(root, "testdata", "jobs", name))
			require.NoError(t, os.CopyFS(j.dir, old))
			j.do("job", "check", j.dir)
			exported := parseJSON(t, j.do("export", j.dir, "--csv", "--json")).(map[string]any)
			moves, err := json.MarshalIndent(exported["moves"], "", " ")
			require.NoError(t, err)
			record, err := os.ReadFile(filepath.Join(j.dir, "record.csv"))
			require.NoError(t, err)
			for file, got := range map[string]string{
				"show.txt": j.do("job", "show", j.dir), "analyse.txt": crownlog(t, nil, "analyse", j.dir).out,
				"moves.json": string(moves) + "\n", "record.csv": string(record),
			} {
				golden := filepath.Join("testdata", "jobs", name+"-"+file)
				if *update {
					require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
					require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
				}
				want, err := os.ReadFile(golden)
				require.NoError(t, err)
				assert.Equal(t, string(want), got, golden)
			}
			before, err := os.ReadFile(filepath.Join(root, "testdata", "jobs", name, "captures.csv"))
			require.NoError(t, err)
			after, err := os.ReadFile(filepath.Join(j.dir, "captures.csv"))
			require.NoError(t, err)
			assert.Equal(t, string(before), string(after))
		})
	}
}
