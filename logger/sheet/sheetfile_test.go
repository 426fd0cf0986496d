package sheet

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/strict"
)

// smallSheet is the least that is a job sheet.
const smallSheet = `schema = 1
[vehicle]
label = "v"
`

func TestParseSheetMistakes(t *testing.T) {
	backlash := smallSheet + "[[window]]\nfeature = \"backlash\"\nunit = \"mm\"\n" // limits begin in line 7
	bolts := smallSheet + "[[bolts]]\nfeature = \"bolt-torque-caps\"\ncount = 4\ntarget = 80\n"
	tests := []struct {
		name, text string
		want       []string // each a part of the error
	}{
		{"empty", " \n", []string{"job.toml: the file is empty"}},
		{"UTF-16", "\xff\xfes\x00c\x00h\x00", []string{"job.toml: the file is UTF-16; save it as UTF-8"}},
		{"another encoding", "schema = 1\n[vehicle]\nlabel = \"Fl\xfcgel\"\n", []string{"job.toml:3:12: a letter that is not UTF-8; save the file as UTF-8"}},
		{"quotes of a word processor", "schema = 1\n[vehicle]\nlabel = “v”\n", []string{"job.toml:3:9: ", "“ is a typographic quotation mark; write \""}},
		{"no schema", "[vehicle]\nlabel = \"v\"\n", []string{"schema: missing; write schema = 2"}},
		{"schema of no version", "schema = 0\n", []string{"job.toml:1:1: schema: missing; write schema"}},
		{"broken", "schema = 1\n[vehicle\n", []string{"job.toml:2:"}},
		{"unknown key", smallSheet + "lable = \"w\"\n", []string{"job.toml:4:1: vehicle.lable: unknown key. Allowed here: label, job, axle"}},
		{"unknown table", smallSheet + "[gearset]\n", []string{"job.toml:4:2: gearset: unknown key. Allowed here: schema"}},
		{"text for a number", smallSheet + "[gear_set]\npinion_teeth = \"eleven\"\n", []string{"job.toml:5:16: gear_set.pinion_teeth: \"eleven\" does not fit; want a whole number"}},
		{"fraction of a tooth", smallSheet + "[gear_set]\npinion_teeth = 11.5\n", []string{"job.toml:5:16: ", "want a whole number"}},
		{"negative teeth", smallSheet + "[gear_set]\npinion_teeth = -11\n", []string{"job.toml:5:1: gear_set.pinion_teeth: -11: want the number of pinion teeth"}},
		{"teeth swapped", smallSheet + "[gear_set]\npinion_teeth = 43\nwheel_teeth = 11\n", []string{"job.toml:6:1: gear_set.wheel_teeth: 11 is less than the pinion's 43 teeth"}},
		{"more than a turn to the mesh", smallSheet + "[plunger]\nface_to_mesh_deg = 400\n", []string{"job.toml:5:1: plunger.face_to_mesh_deg: 400: want degrees from -360 to 360"}},
		{"no label", "schema = 1\n", []string{"vehicle.label: missing"}},
		{"two positions", "positions = 2\n" + smallSheet, []string{"job.toml:1:1: positions: 2: want 0 for whole pinion turns"}},
		{"limits swapped", backlash + "lower = 0.2\nupper = 0.1\n", []string{"job.toml:7:1: window.lower: lower 0.2 is not below upper 0.1"}},
		{"limits equal", backlash + "lower = 0.2\nupper = 0.2\n", []string{"is not below upper"}},
		{"not a number", backlash + "lower = nan\nupper = 0.1\n", []string{"job.toml:7:1: window.lower: NaN is no limit"}},
		{"endless", backlash + "lower = 0.1\nupper = inf\n", []string{"job.toml:8:1: window.upper: +Inf is no limit"}},
		{"negative limit", backlash + "lower = -0.1\nupper = 0.1\n", []string{"job.toml:7:1: window.lower: -0.1 is negative"}},
		{"no limit", backlash, []string{"job.toml:5:1: window.feature: the window of backlash has no limit"}},
		{"wrong unit", smallSheet + "[[window]]\nfeature = \"backlash\"\nunit = \"bar\"\nupper = 1\n", []string{"job.toml:6:1: window.unit: unit \"bar\": want mm"}},
		{"unknown feature", smallSheet + "[[window]]\nfeature = \"backlsh\"\nupper = 1\n", []string{"job.toml:5:1: window.feature: unknown feature \"backlsh\""}},
		{"unknown rule", backlash + "upper = 1\nrule = \"some\"\n", []string{"job.toml:8:1: window.rule: \"some\": want all-inside"}},
		{"second window of a feature", backlash + "upper = 1\n[[window]]\nfeature = \"backlash\"\nupper = 2\n", []string{"job.toml:9:1: window.feature: backlash has a window already"}},
		{"bolt left out of the sequence", bolts + "sequence = [1, 3, 2, 2]\n", []string{"job.toml:8:1: bolts.sequence: want each of the 4 bolts exactly once"}},
		{"passes come down", bolts + "passes_pct = [60, 30, 100]\n", []string{"job.toml:8:1: bolts.passes_pct: passes must not come down"}},
		{"last pass short", bolts + "passes_pct = [30, 60]\n", []string{"the last pass is 60 %; want 100"}},
		{"no target", smallSheet + "[[bolts]]\nfeature = \"bolt-torque-caps\"\ncount = 4\n", []string{"job.toml:4:3: bolts.target: 0: want the manual's torque"}},
		{"adapter without wrench", bolts + "adapter_length_mm = 60\n", []string{"bolts.wrench_length_mm: missing"}},
		{"tightest without its spread", backlash + "upper = 1\nrule = \"tightest-inside\"\n", []string{"job.toml:4:3: window.max_spread: missing; the rule \"tightest-inside\" leaves some positions unjudged"}},
		{"any without its spread", backlash + "upper = 1\nfloor = 0.1\nrule = \"any-inside\"\n", []string{"window.max_spread: missing"}},
		{"any without its floor", backlash + "upper = 1\nmax_spread = 0.1\nrule = \"any-inside\"\n", []string{"window.floor: missing"}},
		{"floor above lower", backlash + "lower = 0.1\nupper = 1\nfloor = 0.2\n", []string{"job.toml:9:1: window.floor: floor 0.2 is above lower 0.1"}},
		{"other column without its own", backlash + "upper = 1\nalso_lower = 5\nalso_unit = \"thou\"\n", []string{"job.toml:8:1: window.also_lower: there is no lower"}},
		{"other column without a unit", backlash + "upper = 1\nalso_upper = 40\n", []string{"window.also_unit: missing"}},
		{"other torque without a unit", bolts + "also_target = 60\n", []string{"bolts.also_unit: missing"}},
		{"key in capitals", "schema = 1\n[vehicle]\nlabel = \"v\"\nAxle = \"front\"\naxle = \"rear\"\n", []string{"job.toml:4:1: vehicle.Axle: unknown key; write it axle"}},
		{"decimal comma", backlash + "lower = 0,13\n", []string{"job.toml:7:10: 0,13 has a decimal comma; write 0.13"}},
		{"bare word", "schema = 1\n[vehicle]\nlabel = rear\n", []string{"want text in quotes"}},
		{"fraction of a per cent", bolts + "passes_pct = [30, 60.5, 100]\n", []string{"job.toml:8:19: bolts.passes_pct: 60.5 does not fit; want whole numbers in square brackets"}},
		{"value for a table", "schema = 1\nvehicle = 3\n", []string{"vehicle: 3 does not fit; want a table"}},
		{"key twice", smallSheet + "label = \"w\"\n", []string{"already defined; keep one of them"}},
		{"stage that is no name", "stages = [\"Set Up\"]\n" + smallSheet, []string{"job.toml:1:1: stages: name \"Set Up\""}},
		{"several at once", smallSheet + "[gear_set]\npinion_teeth = -1\nwheel_teeth = 999\n", []string{"job.toml:5:1", "job.toml:6:1"}},
		{"inline table", "schema = 1\nvehicle = {label = \"v\", lable = \"w\"}\n", []string{"job.toml:2:25: vehicle.lable: unknown key. Allowed here: label"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Parse("job.toml", []byte(tt.text))
			require.Error(t, err)
			for _, want := range tt.want {
				assert.ErrorContains(t, err, want)
			}
			assert.NotRegexp(t, `struct|logger\.|float64|\[\]`, err.Error(), "no word of Go")
			assert.Equal(t, Sheet{}, s)
			var se *strict.Error
			assert.ErrorAs(t, err, &se)
		})
	}
}

func TestNewerSchema(t *testing.T) {
	_, err := Parse("job.toml", []byte("# later\nschema = 3\nshiny = true\n"))
	require.ErrorIs(t, err, ErrNewerSchema)
	assert.EqualError(t, err, "job.toml:2:1: job.toml has a newer schema: schema 3, this program reads up to 2")
}

func TestLoadSheet(t *testing.T) {
	dir := t.TempDir()
	_, err := Load(dir)
	require.ErrorContains(t, err, "it is a directory")
	_, err = Load(filepath.Join(dir, "none.toml"))
	require.ErrorIs(t, err, os.ErrNotExist)
	path := filepath.Join(dir, "bom.toml")
	require.NoError(t, os.WriteFile(path, []byte("\uFEFF"+strings.ReplaceAll(smallSheet, "\n", "\r\n")), 0o644))
	s, err := Load(path)
	require.NoError(t, err, "a byte order mark and CRLF are fine")
	assert.Equal(t, "v", s.Vehicle.Label)
}
