package main

import (
	"bytes"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/job"
	"crownlog/logger/record"
)

// fourPlaces makes a job with four places, in a window of 0.13 to 0.18 mm.
func fourPlaces(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "axle")
	code, _, said := pipe(t, "", "job", "new", dir, "--vehicle", "invented wagon", "--pinion-teeth", "11", "--wheel-teeth", "43",
		"--wheel-diameter", "220", "--positions", "4", "--lower", "0.13", "--upper", "0.18", "--source", "invented", "--resolution", "0.001")
	require.Equal(t, exitOK, code, said)
	return dir
}

// pipe runs a command with text piped in.
func pipe(t *testing.T, text string, args ...string) (code int, printed, said string) {
	t.Helper()
	var out, err bytes.Buffer
	code = run(t.Context(), args, strings.NewReader(text), &out, &err)
	return code, out.String(), err.String()
}

// at are the values that stand, by place.
func at(t *testing.T, dir, feature string) map[int]float64 {
	t.Helper()
	snap, err := job.Read(dir)
	require.NoError(t, err)
	values := map[int]float64{}
	for _, c := range record.ActiveOf(snap.Captures, record.StageAsFound, feature) {
		values[c.Position] = c.Value
	}
	return values
}

// A line is the value of its own place or ends the round: none moves up.
func TestPipedValuesKeepTheirPlaces(t *testing.T) {
	for name, tt := range map[string]struct {
		text string
		code int
		want map[int]float64
		says string
	}{
		"sound":              {"0.150\n0.151\n0.152\n0.153\n", exitOK, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152, 4: 0.153}, ""},
		"no line end":        {"0.150\r\n0.151\r\n0.152\r\n0.153", exitOK, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152, 4: 0.153}, ""},
		"decimal commas":     {"0,150\n0,151 mm\n0,152\n0,153\n", exitOK, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152, 4: 0.153}, ""},
		"byte order mark":    {"\ufeff0.150\n0.151\n0.152\n0.153\n", exitOK, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152, 4: 0.153}, ""},
		"blank lines behind": {"\n0.150\n0.151\n0.152\n0.153\n\n \n", exitOK, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152, 4: 0.153}, ""},
		"too few":            {"0.150\n0.151\n", exitOutside, map[int]float64{1: 0.150, 2: 0.151}, ""},
		"letter O":           {"0.150\nO.151\n0.152\n0.153\n0.154\n", exitUsage, map[int]float64{1: 0.150}, `line 2: "O.151": not one value`},
		"mark further down":  {"0.150\n\ufeff0.151\n0.152\n0.153\n", exitUsage, map[int]float64{1: 0.150}, `line 2: "\ufeff0.151"`},
		"left over":          {"0.150\n0.151\n0.152\n0.153\n0.154\n", exitUsage, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152, 4: 0.153}, "line 5: it is left over: backlash is complete without it; "},
		"garbled left over":  {"0.150\n0.151\n0.152\n0.153\nend\n", exitUsage, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152, 4: 0.153}, "line 5: it is left over"},
		"zero byte":          {"0.150\n\x000.151\n0.152\n", exitUsage, map[int]float64{1: 0.150}, `line 2: "\x000.151"`},
		"half a value":       {"0.150 mm 3\n0.151\n", exitUsage, map[int]float64{}, `line 1: "0.150 mm 3": unit "mm 3" is not known`},
		"two on a line":      {"0.150 0.151\n0.152\n0.153\n", exitUsage, map[int]float64{}, `line 1: "0.150 0.151": not one value`},
		"a gap":              {"0.150\n\n0.152\n0.153\n", exitUsage, map[int]float64{1: 0.150}, "line 2: it is empty"},
		"a gap of blanks":    {"0.150\r\n  \r\n0.152\r\n", exitUsage, map[int]float64{1: 0.150}, "line 2: it is empty"},
		"a key":              {"0.150\nu\n0.152\n", exitUsage, map[int]float64{1: 0.150}, `line 2: "u"`},
		"another quantity":   {"0.150\n12 N·m\n0.152\n", exitUsage, map[int]float64{1: 0.150}, "line 2: Unit \"N·m\": want mm, µm, in or thou"},
		"negative":           {"0.150\n-0.15\n0.152\n", exitUsage, map[int]float64{1: 0.150}, "line 2: -0.15 is negative"},
		"far out":            {"0.150\n1.5\n0.152\n0.153\n", exitUsage, map[int]float64{1: 0.150}, "line 2: position 2, 90 degrees (tooth 12): 1.5 mm is 8.33 times the limit"},
		"far out, the last":  {"0.150\n0.151\n0.152\n1.5", exitUsage, map[int]float64{1: 0.150, 2: 0.151, 3: 0.152}, "line 4: position 4"},
		"far out, twice":     {"0.150\n1.5\n1.5\n0.152\n0.153\n", exitOutside, map[int]float64{1: 0.150, 2: 1.5, 3: 0.152, 4: 0.153}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			dir := fourPlaces(t)
			code, printed, said := pipe(t, tt.text, "measure", dir, "--keyed", "--stage", "as-found", "--feature", "backlash")
			assert.Equal(t, tt.code, code, said)
			assert.Equal(t, tt.want, at(t, dir, record.FeatureBacklash))
			assert.Contains(t, said, tt.says)
			assert.Equal(t, len(tt.want) > 0, strings.Contains(printed, "backlash, as-found: "), "what was stored is summed up: %s", printed)
			if len(tt.want) > 0 {
				assert.FileExists(t, filepath.Join(dir, "record.csv"))
			}
			if tt.code == exitUsage {
				assert.Equal(t, 2, strings.Count(said, "\n"), "what to do first, and one line of what went wrong: %s", said)
			}
		})
	}
}

// A round that is whole takes no values, and says so instead of dropping them.
func TestPipedValuesForAWholeRoundAreLeftOver(t *testing.T) {
	dir := fourPlaces(t)
	args := []string{"measure", dir, "--keyed", "--stage", "as-found", "--feature", "backlash"}
	code, _, _ := pipe(t, "0.150\n0.151\n0.152\n0.153\n", args...)
	require.Equal(t, exitOK, code)
	code, _, said := pipe(t, "0.160\n", args...)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, said, "all of it is stored already; --again measures it anew")
	assert.Contains(t, said, "line 1: it is left over: backlash is complete without it; ")
	assert.Equal(t, 0.150, at(t, dir, record.FeatureBacklash)[1])
}

// Who keeps the pipe open is not waited for.
func TestPipedValuesNeedNoEnd(t *testing.T) {
	dir := fourPlaces(t)
	in, other := io.Pipe()
	defer other.Close()
	code := make(chan int, 1)
	go func() {
		code <- run(t.Context(), []string{"measure", dir, "--keyed", "--stage", "as-found", "--feature", "backlash"}, in, io.Discard, io.Discard)
	}()
	_, err := io.WriteString(other, "0.150\n0.151\n0.152\n0.153\n")
	require.NoError(t, err)
	select {
	case got := <-code:
		assert.Equal(t, exitOK, got)
	case <-time.After(30 * time.Second):
		t.Fatal("it waits for the end of the input")
	}
}

// The air test takes its parts from several lines; one that it does not take
// ends it too.
func TestPipedAirTest(t *testing.T) {
	for text, want := range map[string]string{
		"690 kPa\n6.88 bar\n10 min\n":     "",
		"690\n6.90 bar\n6.88\n10 min\n":   "line 1: 690 of what?",
		"690 688 kPa 10 min 3 furlongs\n": "line 1: ",
		"690 688 kPa 10 min\n690 kPa\n":   "line 2: it is left over",
	} {
		dir := filepath.Join(t.TempDir(), "axle")
		code, _, said := pipe(t, "", "job", "new", dir, "--example")
		require.Equal(t, exitOK, code, said)
		code, printed, said := pipe(t, text, "measure", dir, "--keyed", "--stage", "final", "--feature", "leak-down", "--override", "an invented job")
		if want == "" {
			assert.Equal(t, exitOK, code, "%q: %s", text, said)
			assert.Contains(t, printed, "690 to 688 kPa in 10 min")
			continue
		}
		assert.Equal(t, exitUsage, code, text)
		assert.Contains(t, said, want, text)
	}
}
