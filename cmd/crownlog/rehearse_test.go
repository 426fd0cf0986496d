package main

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/simbench"
)

// playRehearsal plays a rehearsal without a screen and returns its folder and what
// it printed.
func playRehearsal(t *testing.T, args ...string) (dir, out string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "job")
	var stdout, stderr bytes.Buffer
	args = append([]string{"rehearse", "--hands-off", "--no-screen", "--dir", dir}, args...)
	code := run(t.Context(), args, strings.NewReader(""), &stdout, &stderr)
	require.Equal(t, exitOK, code, "%s\n%s", stdout.String(), stderr.String())
	return dir, stdout.String()
}

// rows reads a CSV file of a job as one map a line.
func rows(t *testing.T, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err)
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.NotEmpty(t, lines)
	var rs []map[string]string
	for _, line := range lines[1:] {
		r := map[string]string{}
		for i, name := range lines[0] {
			r[name] = line[i]
		}
		rs = append(rs, r)
	}
	return rs
}

func number64(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// The whole way from bytes on a port to the record, against a second bench of
// the same seed that was never measured.
func TestRecordAgreesWithTheBench(t *testing.T) {
	seeds := []int64{1, 3, 8}
	if testing.Short() {
		seeds = seeds[:1]
	}
	for _, seed := range seeds {
		t.Run(strconv.FormatInt(seed, 10), func(t *testing.T) {
			t.Parallel()
			dir, out := playRehearsal(t, "--seed", strconv.FormatInt(seed, 10))
			bench, err := simbench.New(simbench.Config{Seed: seed})
			require.NoError(t, err)
			defer bench.Close()

			byStage := map[string][]map[string]string{}
			for _, r := range rows(t, filepath.Join(dir, "record.csv")) {
				if r["feature"] == "backlash" {
					byStage[r["stage"]] = append(byStage[r["stage"]], r)
				}
			}
			assertTruth(t, bench, byStage["as-found"])
			bench.Do(simbench.FitCentre())
			for _, r := range rows(t, filepath.Join(dir, "captures.csv")) {
				if r["feature"] == "move" {
					bench.Do(simbench.MoveAdjusters(number64(t, r["value"])))
				}
			}
			assertTruth(t, bench, byStage["set-up"])
			bench.Do(simbench.TorqueCaps())
			assertTruth(t, bench, byStage["caps-torqued"])
			assertTruth(t, bench, byStage["final"])
			for _, r := range byStage["set-up"] {
				assert.Equal(t, "inside", r["verdict"], "position %s", r["position"])
			}
			assert.Contains(t, out, "record: "+filepath.Join(dir, "record.csv"))
		})
	}
}

// assertTruth compares the eight positions of a stage with the bench as it
// stands, and the stated uncertainty with what is left.
func assertTruth(t *testing.T, bench *simbench.Bench, rs []map[string]string) {
	t.Helper()
	require.Len(t, rs, 8)
	for _, r := range rs {
		truth := bench.TruthAt(number64(t, r["angle_deg"]))
		diff := math.Abs(number64(t, r["value"]) - truth)
		assert.LessOrEqual(t, diff, 0.010, "%s position %s", r["stage"], r["position"])
		assert.LessOrEqual(t, diff, 1.5*number64(t, r["expanded_uncertainty"]), "%s position %s", r["stage"], r["position"])
	}
}

func TestSameSeedSameRecord(t *testing.T) {
	t.Parallel()
	first, _ := playRehearsal(t, "--seed", "7")
	again, _ := playRehearsal(t, "--seed", "7", "--pace", "2000")
	for _, name := range []string{"captures.csv", "record.csv", "job.toml"} {
		want, err := os.ReadFile(filepath.Join(first, name))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(again, name))
		require.NoError(t, err)
		assert.Equal(t, chained.ReplaceAllString(string(want), ""), chained.ReplaceAllString(string(got), ""), name)
	}
}

// chained is what two jobs never share: the lines of the chain's own, and the
// values of the others.
var chained = regexp.MustCompile(`(?m)^0,0,.*\n|,[0-9a-f]{64},[0-9a-f]{8}\r$`)

func TestRehearsalsAreTwoJobs(t *testing.T) {
	text := "0,0,2026,,seal,x\r\n1,0,a," + strings.Repeat("0", 64) + ",01234567\r\n"
	assert.Equal(t, "1,0,a\n", chained.ReplaceAllString(text, ""))
}

func TestRehearseRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"keys without a screen", []string{"--by-key", "--no-screen"}, "--by-key needs the dashboard"},
		{"a lesson without a screen", []string{"--teach", "--no-screen"}, "--teach needs the dashboard"},
		{"two kinds of hands", []string{"--by-key", "--hands-off"}, "can't be used together"},
		{"time backwards", []string{"--pace=-1", "--no-screen"}, "not a pace"},
		{"no number", []string{"--pace=NaN", "--no-screen"}, "not a pace"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var stdout, stderr bytes.Buffer
			code := run(t.Context(), append([]string{"rehearse"}, c.args...), strings.NewReader(""), &stdout, &stderr)
			assert.Equal(t, exitUsage, code)
			assert.Contains(t, stderr.String(), c.want)
		})
	}
}

// The recorded pressures give the captured rate again, with and without the
// round around them.
func TestAirTestCanBeReplayed(t *testing.T) {
	t.Parallel()
	dir, _ := playRehearsal(t, "--seed", "7")
	captured, u := math.NaN(), 0.0
	for _, r := range rows(t, filepath.Join(dir, "record.csv")) {
		if r["feature"] == "leak-down" {
			captured, u = number64(t, r["value"]), number64(t, r["expanded_uncertainty"])
		}
	}
	assert.InDelta(t, captured, replayed(t, dir, "final-leak-down"), u/10, "rounded to what its uncertainty carries")

	var stdout, stderr bytes.Buffer
	path := filepath.Join(dir, "readings", "final-leak-down-1.csv")
	code := run(t.Context(), []string{"analyse", path, "--as", "leak-down", "--json"}, strings.NewReader(""), &stdout, &stderr)
	require.Equal(t, exitOK, code, stderr.String())
	assert.Contains(t, stdout.String(), "temperature changed by", "the thermometer beside the line is used")
}
