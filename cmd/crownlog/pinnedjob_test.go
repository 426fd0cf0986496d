package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Black-box tests of the command: they use its arguments, its streams and the
// files of a job folder, and nothing behind them.

// A recorder collects what a check finds wrong.
type recorder struct{ found []string }

// equal compares values of one type, with what they are of.
func (r *recorder) equal(what string, want, got any) {
	if !reflect.DeepEqual(want, got) {
		r.found = append(r.found, fmt.Sprintf("%s: got %q, want %q", what, fmt.Sprint(got), fmt.Sprint(want)))
	}
}

// says wants, or forbids with a leading !, that a text matches a pattern.
func (r *recorder) says(what, pattern, text string) {
	forbidden, isForbidden := strings.CutPrefix(pattern, "!")
	if regexp.MustCompile(forbidden).MatchString(text) == isForbidden {
		r.found = append(r.found, fmt.Sprintf("%s: got %.300q, want %s", what, strings.Join(strings.Fields(text), " "), pattern))
	}
}

// pin runs a check and fails the test with all that it found.
func pin(t *testing.T, check func(r *recorder)) {
	t.Helper()
	var r recorder
	check(&r)
	if len(r.found) > 0 {
		t.Error(strings.Join(r.found, "\n"))
	}
}

// A ran is what the command came to.
type ran struct {
	out, err string
	code     int
}

// crownlog runs the command with lines on its standard input.
func crownlog(t *testing.T, typed []string, args ...string) ran {
	t.Helper()
	var stdout, stderr bytes.Buffer
	in := ""
	if len(typed) > 0 {
		in = strings.Join(typed, "\n") + "\n"
	}
	code := run(t.Context(), args, strings.NewReader(in), &stdout, &stderr)
	return ran{stdout.String(), stderr.String(), code}
}

// A pinnedJob is a job folder with what the surfaces say of it.
type pinnedJob struct {
	t   *testing.T
	dir string

	measured        ran // the last round
	analysed, whole ran // that round, and all of the job
	replayed        ran // its readings, as JSON; of a contact pattern nothing: it takes both flanks
	shown           string
	show, rounds    any // job show and analyse of the round, as JSON
	export          any
	page            page
}

// newPinnedJob makes a job with a sheet of its own.
func newPinnedJob(t *testing.T, sheet string) *pinnedJob {
	t.Helper()
	j := &pinnedJob{t: t, dir: filepath.Join(t.TempDir(), "job")}
	j.do("job", "new", j.dir, "--example")
	require.NoError(t, os.WriteFile(filepath.Join(j.dir, "job.toml"), []byte(sheet), 0o644))
	return j
}

// do runs a command that must succeed.
func (j *pinnedJob) do(args ...string) string {
	j.t.Helper()
	r := crownlog(j.t, nil, args...)
	require.Zero(j.t, r.code, "%v: %s", args, r.err)
	return r.out
}

// measure types a round past its hold points.
func (j *pinnedJob) measure(stage, feature string, typed ...string) ran {
	j.t.Helper()
	j.measured = crownlog(j.t, typed, "measure", j.dir, "--keyed", "--stage", stage, "--feature", feature, "--override", "only for a test")
	require.LessOrEqual(j.t, j.measured.code, 1, j.measured.err)
	return j.measured
}

// read reads every surface.
func (j *pinnedJob) read(stage, feature string) {
	j.t.Helper()
	j.shown = j.do("job", "show", j.dir)
	j.show = parseJSON(j.t, j.do("job", "show", j.dir, "--json"))
	j.analysed = crownlog(j.t, nil, "analyse", j.dir, stage+"-"+feature)
	j.whole = crownlog(j.t, nil, "analyse", j.dir)
	if j.analysed.out != "" {
		j.rounds = parseJSON(j.t, crownlog(j.t, nil, "analyse", j.dir, stage+"-"+feature, "--json").out)
	}
	if !strings.HasPrefix(feature, "pattern-") {
		j.replayed = crownlog(j.t, nil, "replay", j.dir, stage+"-"+feature, "--json")
	}
	if _, err := os.Stat(filepath.Join(j.dir, "captures.digest")); err == nil {
		// Some change the sheet behind the record.
		assert.NotRegexp(j.t, `NOT SOUND  [^j]`, crownlog(j.t, nil, "verify", j.dir).out)
	}
	j.export = parseJSON(j.t, j.do("export", j.dir, "--csv", "--html", "--json"))
	html, err := os.ReadFile(filepath.Join(j.dir, "report.html"))
	require.NoError(j.t, err)
	j.page = readPage(j.t, html)
}

// step is the line of job show for one step, without its names.
func (j *pinnedJob) step(stage, feature string) string {
	line := regexp.MustCompile(`(?m)^ +` + stage + ` +` + feature + ` +(.*)$`).FindStringSubmatch(j.shown)
	require.NotNil(j.t, line, j.shown)
	return line[1]
}

// holds says whether a hold point is closed.
func (j *pinnedJob) holds(name string) bool {
	j.t.Helper()
	list, _ := parseJSON(j.t, j.do("job", "show", j.dir, "--json")).(map[string]any)["hold_points"].([]any)
	for _, h := range list {
		if h := h.(map[string]any); h["name"] == name {
			return h["blocking"] == true
		}
	}
	j.t.Fatalf("no hold point %s", name)
	return false
}

// record is the rows of a feature in record.csv.
func (j *pinnedJob) record(feature string) []map[string]string {
	file, err := os.Open(filepath.Join(j.dir, "record.csv"))
	require.NoError(j.t, err)
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	require.NoError(j.t, err)
	var rows []map[string]string
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = cells[i]
		}
		if row["feature"] == feature {
			rows = append(rows, row)
		}
	}
	return rows
}

func parseJSON(t *testing.T, s string) (v any) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(s), &v), s)
	return v
}

// find is the object of a stage and feature in a list, the value itself or a
// member of it; of a list whose objects name no feature, that of the stage.
func find(v any, list, stage, feature string) map[string]any {
	if m, ok := v.(map[string]any); ok {
		v = m[list]
	}
	objects, _ := v.([]any)
	for _, o := range objects {
		m := o.(map[string]any)
		if of, named := m["feature"]; m["stage"] == stage && (!named || of == feature) {
			return m
		}
	}
	return nil
}

func figure(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

func text(v any) string {
	s, _ := v.(string)
	return s
}

func ints(v any) []int {
	var is []int
	list, _ := v.([]any)
	for _, n := range list {
		is = append(is, int(n.(float64)))
	}
	return is
}

var verdictWords = regexp.MustCompile(`\b(too close to call|not decided|inside|outside)\b`)

// verdictsIn are the different verdicts a text has, each in its one spelling.
func verdictsIn(s string) []string {
	found := verdictWords.FindAllString(s, -1)
	slices.Sort(found)
	return slices.Compact(found)
}

// summary is what a round's output ends with: how it ended, after its title
// and stage, and the lines below.
func summary(out, stage string) string {
	at := regexp.MustCompile(`(?m)^[^:\n]+, ` + stage + `: `).FindStringIndex(out)
	if at == nil {
		return ""
	}
	return out[at[1]:]
}

// headline is the first line of the summary, which has the verdict.
func headline(out, stage string) string {
	line, _, _ := strings.Cut(summary(out, stage), "\n")
	return line
}

// A page is what a reader sees of report.html.
type page struct {
	text     string   // without pictures
	verdicts []string // every cell under the head Verdict
	cells    map[string][]string
}

// readPage reads the tables and the text of a report. cells has those of each
// column by its head.
func readPage(t *testing.T, html []byte) page {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(html))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	p := page{cells: map[string][]string{}}
	var all, cell strings.Builder
	var heads, row []string
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			switch x.Name.Local {
			case "svg", "style":
				require.NoError(t, d.Skip())
			case "table":
				heads = nil
			case "tr":
				row = nil
			case "td", "th":
				cell.Reset()
			}
		case xml.EndElement:
			switch x.Name.Local {
			case "td", "th":
				row = append(row, strings.TrimSpace(cell.String()))
			case "tr":
				if heads == nil {
					heads = row
					break
				}
				for i, c := range row {
					p.cells[heads[i]] = append(p.cells[heads[i]], c)
				}
			}
		case xml.CharData:
			cell.Write(x)
			all.Write(x)
		}
	}
	p.text, p.verdicts = all.String(), p.cells["Verdict"]
	return p
}

// pinnedSheet gives a figure for every feature. Every figure is invented.
const pinnedSheet = `schema = 1
invented = true
positions = 8
[vehicle]
label = "Invented wagon"
[gear_set]
pinion_teeth = 11
wheel_teeth = 43
wheel_diameter_mm = 222
pressure_angle_deg = 20
spiral_angle_deg = 33
tooth_form = "tapered"
pinion_depth = "locked"
[plunger]
measured = "normal"
spec = "normal"
contact_radius_mm = 106
heel_radius_mm = 106
[adjuster]
kind = "threaded"
pitch_mm = 1.5
notches = 14
[gauge]
label = "indicator"
profile = "text"
resolution_mm = 0.001
mpe_mm = 0.003
[[window]]
feature = "backlash"
lower = 0.13
upper = 0.2
[[window]]
feature = "runout-back-face"
upper = 0.08
[[window]]
feature = "runout-carrier-flange"
upper = 0.08
[[window]]
feature = "runout-bore"
upper = 0.08
[[window]]
feature = "preload-pinion"
lower = 1.0
upper = 1.6
[[window]]
feature = "preload-total"
lower = 1.7
upper = 2.5
[[window]]
feature = "leak-down"
upper = 3.0
[[window]]
feature = "engagement"
upper = 1.0
[[window]]
feature = "oil-fill"
lower = 1.8
upper = 2.2
[[bolts]]
feature = "bolt-torque-crown-wheel"
count = 4
target = 98
wrench_mpe_pct = 1
passes_pct = [50, 100]
[[bolts]]
feature = "bolt-torque-caps"
count = 4
target = 85
wrench_mpe_pct = 1
passes_pct = [100]
[preload]
tool_mpe_pct = 1
[engagement]
cycles = 3
`
