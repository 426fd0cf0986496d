package sheet

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBoundsOfNumbers: each number up to what an axle can have, and not a step
// further.
func TestBoundsOfNumbers(t *testing.T) {
	bolts := "[[bolts]]\nfeature = \"bolt-torque-caps\"\ntarget = 80\ncount = %s\n"
	caps := fmt.Sprintf(bolts, "4") + "wrench_length_mm = 1\n"
	for _, tt := range []struct {
		table, key              string
		below, low, high, above string
	}{
		{"", "positions", "2", "3", "72", "73"},
		{"", "positions", "-1", "0", "72", "73"},
		{"[gear_set]\n", "pinion_teeth", "-1", "0", "60", "61"},
		{"[gear_set]\n", "wheel_teeth", "-1", "0", "200", "201"},
		{"[gear_set]\npinion_teeth = 11\n", "wheel_teeth", "10", "11", "200", "201"},
		{"[gear_set]\n", "wheel_diameter_mm", "-0.1", "0", "2000", "2000.1"},
		{"[gear_set]\n", "pressure_angle_deg", "-0.1", "0", "45", "45.1"},
		{"[gear_set]\n", "spiral_angle_deg", "-0.1", "0", "60", "60.1"},
		{"[plunger]\n", "cosine_deg", "-0.1", "0", "60", "60.1"},
		{"[plunger]\n", "contact_radius_mm", "-0.1", "0", "1000", "1000.1"},
		{"[plunger]\n", "heel_radius_mm", "-0.1", "0", "1000", "1000.1"},
		{"[plunger]\n", "push_mm", "-0.01", "0", "0.1", "0.11"},
		{"[plunger]\n", "face_to_mesh_deg", "-360.1", "-360", "360", "nan"},
		{"[adjuster]\n", "pitch_mm", "-0.1", "0", "10", "10.1"},
		{"[adjuster]\n", "notches", "-1", "0", "200", "201"},
		{"[adjuster]\n", "backlash_per_notch_mm", "-1.1", "-1", "1", "1.1"},
		{"[adjuster]\n", "shim_sizes_mm", "[0.1, 0.009]", "[0.01]", "[20]", "[20.1]"},
		{"[adjuster]\n", "shims_crown_mm", "-0.1", "0", "20", "20.1"},
		{"[adjuster]\n", "shims_far_mm", "-0.1", "0", "20", "20.1"},
		{"[gauge]\n", "resolution_mm", "-0.1", "0", "1", "1.1"},
		{"[gauge]\n", "mpe_mm", "-0.1", "0", "1", "1.1"},
		{"[preload]\n", "tool_mpe_pct", "-0.1", "0", "30", "30.1"},
		{"[leak_down]\n", "settle_min", "-0.1", "0", "120", "120.1"},
		{"[leak_down]\n", "test_min", "-0.1", "0", "1440", "1440.1"},
		{"[leak_down]\n", "ambient_kpa", "-0.1", "0", "120", "120.1"},
		{"[engagement]\n", "cycles", "-1", "0", "1000", "1001"},
		{strings.ReplaceAll(bolts, "count = %s\n", ""), "count", "0", "1", "64", "65"},
		{caps + "also_unit = \"lbf·ft\"\n", "also_target", "-0.1", "0", "1000000", "1000001"},
		{caps, "tolerance_pct", "-0.1", "0", "50", "50.1"},
		{caps, "passes_pct", "[0, 100]", "[1, 100]", "[100]", "[100, 101]"},
		{caps, "angle_deg", "-0.1", "0", "360", "360.1"},
		{caps, "open_time_min", "-0.1", "0", "1440", "1440.1"},
		{caps, "wrench_mpe_pct", "-0.1", "0", "30", "30.1"},
		{caps, "adapter_length_mm", "-0.1", "0", "1000", "1000.1"},
		{caps, "adapter_angle_deg", "-180.1", "-180", "180", "180.1"},
		{fmt.Sprintf(bolts, "4"), "wrench_length_mm", "-0.1", "0", "3000", "3000.1"},
		{"[[window]]\nfeature = \"backlash\"\nlower = 0.1\n", "floor", "-0.1", "0", "0.1", "0.11"},
		{"[[window]]\nfeature = \"backlash\"\nupper = 0.1\n", "floor", "-0.1", "0", "0.09", "0.1"},
		{"[[window]]\nfeature = \"backlash\"\nupper = 0.1\n", "lower", "-0.1", "0", "0.09", "0.1"},
	} {
		t.Run(tt.key, func(t *testing.T) {
			parse := func(value string) error {
				text := fmt.Sprintf("%s%s = %s\n", tt.table, tt.key, value)
				rest := "schema = 1\n"
				if tt.table == "" {
					text, rest = "schema = 1\n"+text, ""
				}
				_, err := Parse("job.toml", []byte(rest+text+"[vehicle]\nlabel = \"v\"\n"))
				return err
			}
			for _, good := range []string{tt.low, tt.high} {
				assert.NoError(t, parse(good), good)
			}
			for _, bad := range []string{tt.below, tt.above} {
				assert.ErrorContains(t, parse(bad), tt.key+": ", bad)
			}
		})
	}
}

// TestSequences: every bolt once, in any order.
func TestSequences(t *testing.T) {
	for sequence, sound := range map[string]bool{
		"[]": true, "[1, 2, 3]": true, "[3, 1, 2]": true,
		"[1, 2]": false, "[1, 2, 3, 4]": false, "[0, 1, 2]": false, "[1, 2, 2]": false, "[2, 3, 4]": false,
	} {
		_, err := Parse("job.toml", []byte(smallSheet+"[[bolts]]\nfeature = \"bolt-torque-caps\"\ntarget = 80\ncount = 3\nsequence = "+sequence+"\n"))
		if sound {
			assert.NoError(t, err, sequence)
		} else {
			assert.ErrorContains(t, err, "want each of the 3 bolts exactly once", sequence)
		}
	}
}

// TestMoreMistakes are those whose words no other test asks for.
func TestMoreMistakes(t *testing.T) {
	window := smallSheet + "[[window]]\nfeature = \"backlash\"\nupper = 0.1\n"
	bolts := smallSheet + "[[bolts]]\nfeature = \"bolt-torque-caps\"\ncount = 4\ntarget = 80\n"
	for text, want := range map[string]string{
		window + "floor = 0.1\n":                           "job.toml:7:1: window.floor: floor 0.1 is not below upper 0.1",
		window + "also_unit = \"bar\"\n":                   "job.toml:7:1: window.also_unit: unit \"bar\": want mm, µm, in or thou",
		bolts + "unit = \"mm\"\n":                          "job.toml:8:1: bolts.unit: unit \"mm\": want N·m, lbf·ft, lbf·in, kgf·m or kgf·cm",
		bolts + "also_unit = \"mm\"\n":                     "job.toml:8:1: bolts.also_unit: unit \"mm\": want N·m, lbf·ft, lbf·in, kgf·m or kgf·cm",
		bolts + "[[bolts]]\nfeature = \"backlash\"\n":      "job.toml:9:1: bolts.feature: unknown bolts \"backlash\"; want bolt-torque-crown-wheel or bolt-torque-caps",
		bolts + bolts[len(smallSheet):]:                    "job.toml:9:1: bolts.feature: bolt-torque-caps is listed already",
		"stages = [\"a\", \"b\", \"a\"]\n" + smallSheet:    "job.toml:1:1: stages: \"a\" is listed twice",
		smallSheet + "[adjuster]\nkind = \"nuts\"\n":       "job.toml:5:1: adjuster.kind: \"nuts\": want threaded, shims",
		smallSheet + "[gear_set]\npinion_depth = \"x\"\n":  "job.toml:5:1: gear_set.pinion_depth: \"x\": want locked, free",
		smallSheet + "[plunger]\nmeasured = \"x\"\n":       "job.toml:5:1: plunger.measured: \"x\": want normal, transverse, unknown",
		smallSheet + "[preload]\nkind = \"x\"\n":           "job.toml:5:1: preload.kind: \"x\": want running, starting",
		smallSheet + "[gear_set]\ntooth_form = \"tall\"\n": "job.toml:5:1: gear_set.tooth_form: \"tall\": want tapered, uniform, unknown",
		smallSheet + "[[window]]\nfeature = \"air\"\nupper = 1\n[[window]]\nfeature = \"note\"\nupper = 1\n": "job.toml:8:1: window.feature: unknown feature \"note\"",
	} {
		_, err := Parse("job.toml", []byte(text))
		assert.ErrorContains(t, err, want)
	}
	_, err := Parse("job.toml", []byte(window+"max_spread = 0\n"))
	assert.NoError(t, err, "no spread at all is a limit")
	_, err = Parse("job.toml", []byte("schema = 1\n[gear_set]\npinion_teeth = true\nwheel_diameter_mm = 3\n[vehicle]\nlabel = \"v\"\n"))
	assert.EqualError(t, err, "job.toml:3:16: gear_set.pinion_teeth: true does not fit; want a whole number")
}

// TestLargeSheet: what is too large is not read at all.
func TestLargeSheet(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.toml")
	for size, want := range map[int]string{1 << 17: "", 1<<17 + 1: "131073 bytes are too many"} {
		text := smallSheet + "#" + strings.Repeat("x", size-len(smallSheet)-1)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		_, err := Load(path)
		if want == "" {
			assert.NoError(t, err)
		} else {
			assert.ErrorContains(t, err, want)
		}
	}
}

// TestCheckMistakes: a check is ticked by its name, at a stage that there is.
func TestCheckMistakes(t *testing.T) {
	const good = "[[check]]\nname = \"caps-marked\"\nstage = \"as-found\"\nwhat = \"caps marked\"\n"
	for text, want := range map[string]string{
		good: "",
		strings.ReplaceAll(good, "caps-marked", "Caps marked"):       "check.name: name \"Caps marked\": want lower-case letters, digits and hyphens",
		strings.ReplaceAll(good, "caps-marked", "windows-confirmed"): "check.name: \"windows-confirmed\" is taken",
		good + good: "check.name: \"caps-marked\" is taken",
		strings.ReplaceAll(good, "as-found", "strip"): "check.stage: \"strip\": want one of as-found, bench, set-up, caps-torqued, final",
		strings.ReplaceAll(good, "what", "# what"):    "check.what: missing; say in a few words what is to be so",
	} {
		_, err := Parse("job.toml", []byte("schema = 2\n[vehicle]\nlabel = \"v\"\n"+text))
		if want == "" {
			assert.NoError(t, err)
		} else {
			assert.ErrorContains(t, err, want)
		}
	}
}
