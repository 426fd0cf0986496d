package sheet

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

func TestExampleSheet(t *testing.T) {
	s := Example()
	assert.True(t, s.Invented)
	assert.Contains(t, string(ExampleTOML()), "invented")
	for _, f := range s.Check() {
		assert.NotEqual(t, Doubt, f.Severity, "%s: %s", f.Where, f.Text)
		assert.NotEqual(t, Warning, f.Severity, "%s: %s", f.Where, f.Text)
	}
}

func TestNewSheet(t *testing.T) {
	p := Params{Used: true, Unit: "mm", AdjusterKind: "threaded", Vehicle: Vehicle{Label: `my "wagon" \ 1`}, PinionTeeth: 11, WheelTeeth: 43, WheelDiameterMM: 222}
	text, err := NewTOML(p)
	require.NoError(t, err)
	s, err := Parse("job.toml", text)
	require.NoError(t, err)
	assert.Equal(t, p.Vehicle, s.Vehicle)
	assert.False(t, s.Invented)
	w, ok := s.Printed(record.FeatureBacklash)
	require.True(t, ok)
	assert.True(t, w.Default, "a window that is not the maker's says so")
	for _, w := range s.Windows {
		assert.Equal(t, "crownlog's own default, no manual", w.Source, w.Feature)
	}

	p.Lower, p.Upper, p.Unit, p.Source = 5, 8, "thou", "page 12"
	text, err = NewTOML(p)
	require.NoError(t, err)
	s, err = Parse("job.toml", text)
	require.NoError(t, err)
	spec := s.Window(record.FeatureBacklash)
	assert.InDelta(t, 0.127, spec.Limits.Lower, 1e-12)
	assert.InDelta(t, 0.2032, spec.Limits.Upper, 1e-12)

	_, err = NewTOML(Params{Vehicle: Vehicle{Label: "v"}})
	require.ErrorContains(t, err, "needs the backlash window")
	p.Lower = 9
	_, err = NewTOML(p)
	require.ErrorContains(t, err, "lower 9 is not below upper 8")
}

// TestTemplateTeachesWhatWorks takes the comment marks off the examples in a
// new sheet: they must be sound as they stand.
func TestTemplateTeachesWhatWorks(t *testing.T) {
	text, err := NewTOML(Params{Vehicle: Vehicle{Label: "v"}, WheelDiameterMM: 222, Lock: true})
	require.NoError(t, err)
	var out []string
	inExample := false
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(line, "# [[") {
			inExample = true
		} else if !strings.HasPrefix(line, "# ") && line != "#\n" {
			inExample = false
		}
		if inExample {
			line = strings.TrimPrefix(strings.TrimPrefix(line, "#"), " ")
		}
		out = append(out, line)
	}
	s, err := Parse("job.toml", []byte(strings.Join(out, "")))
	require.NoError(t, err)
	assert.Len(t, s.Windows, 4)
	assert.Len(t, s.Bolts, 1)
	for _, f := range s.Check() {
		assert.NotEqual(t, Doubt, f.Severity, f.Text)
	}
}

// TestNewSheetSaysWhatWasNotGiven: with the trade's default, or as unknown.
func TestNewSheetSaysWhatWasNotGiven(t *testing.T) {
	text, err := NewTOML(func() Params {
		p := UsualParams()
		p.Label, p.Upper, p.CapBolts = "v", 0.2, "4 85 N·m"
		return p
	}())
	require.NoError(t, err)
	s, err := Parse("job.toml", text)
	require.NoError(t, err)
	assert.Equal(t, "threaded", s.Adjuster.Kind)
	assert.Equal(t, 0.01, s.Gauge.ResolutionMM)
	assert.Equal(t, [2]string{"unknown", "unknown"}, [2]string{s.Plunger.Measured, s.Plunger.Spec})
	assert.Equal(t, "mm", s.Windows[0].Unit)
	assert.Nil(t, s.Windows[0].MaxSpread)
	assert.False(t, s.Windows[0].Default)
	assert.Equal(t, BoltList{Feature: record.FeatureCapBolts, Count: 4, Unit: "N·m", Target: 85, TolerancePct: 10, PassesPct: []int{50, 100}, OpenTimeMin: 10}, s.Bolts[0],
		"no thread that nobody named")

	text, err = NewTOML(Params{Vehicle: Vehicle{Label: "v"}, WheelDiameterMM: 300}) // its usual window has no limit for the spread
	require.NoError(t, err)
	assert.NotContains(t, string(text), "max_spread =")
	_, err = NewTOML(Params{Vehicle: Vehicle{Label: "v"}, WheelDiameterMM: 10})
	assert.EqualError(t, err, "window.upper: no usual backlash for a crown wheel of 10 mm: enter the maker's window")
	_, err = NewTOML(Params{WheelDiameterMM: 222, Positions: 2})
	assert.EqualError(t, err, "positions: 2: want 0 for whole pinion turns, or 3 to 72 places\n"+
		"vehicle.label: missing; write any name of your own for the vehicle", "without a place: there is no file yet")
}

func TestQuotedText(t *testing.T) {
	for in, want := range map[string]string{
		"plain µ": `"plain µ"`, `a "b" \`: `"a \"b\" \\"`, "\t\x1f \x7f": `"\t\u001f \u007F"`,
	} {
		assert.Equal(t, want, tomlQuote(in))
	}
	for value, want := range map[float64]string{0.1: "0.1", 1e21: "1000000000000000000000"} {
		assert.Equal(t, want, tomlNumber(value))
	}
}

// TestCommentsStandBelowEachOther in lines that follow each other.
func TestCommentsStandBelowEachOther(t *testing.T) {
	text := "a = 10\t# one\nµ = 2\t# two\n# three\nlonger = 4\t# four\n"
	want := "a = 10  # one\nµ = 2   # two\n# three\nlonger = 4  # four\n"
	assert.Equal(t, want, string(alignComments(text)))
}

// TestExampleTeachesAsTheTemplate: what both say of a key is said in one way.
func TestExampleTeachesAsTheTemplate(t *testing.T) {
	comments := func(text string) (all []string) {
		for line := range strings.Lines(text) {
			if at := strings.LastIndexByte(line, '#'); at >= 0 {
				all = append(all, strings.TrimSpace(line[at+1:]))
			}
		}
		return all
	}
	known := comments(sheetTemplate)
	own := slices.DeleteFunc(comments(exampleTOML), func(c string) bool { return slices.Contains(known, c) })
	assert.Equal(t, []string{"EXAMPLE: this vehicle and every figure below are invented.", "every output will say so",
		"the manual's figure holds before the seal is fitted", "permissible error of the torque wrench or spring scale"}, own)
}

// TestLike keeps every figure and comment, says where they are from, and takes
// nothing of whose file it was.
func TestLike(t *testing.T) {
	text, err := Like(ExampleTOML(), Vehicle{Label: `the "other" one`, Odometer: "9 km"})
	require.NoError(t, err)
	s, err := Parse("", text)
	require.NoError(t, err)
	was := Example()
	want := was
	want.Vehicle = Vehicle{Label: `the "other" one`, Odometer: "9 km", Axle: was.Vehicle.Axle, Operator: was.Vehicle.Operator, CopiedFrom: was.Vehicle.Label}
	assert.Equal(t, want, s)
	assert.Contains(t, string(text), "# Where this sheet and the maker's manual differ, the manual is right.")

	again, err := Like(text, Vehicle{Label: "third"})
	require.NoError(t, err)
	assert.Equal(t, 1, strings.Count(string(again), "copied_from = "), "of the last")
	assert.NotContains(t, string(again), was.Vehicle.Label)
}

// TestLikeRefuses what it would half copy.
func TestLikeRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"no line":         "schema = 2\n[vehicle]\nlabel = \"a\"\n",
		"dotted":          "schema = 2\nvehicle.label = \"a\"\nvehicle.job = \"\"\n",
		"a text of lines": "schema = 2\n[vehicle]\nlabel = \"a\"\njob = \"\"\"\nlabel = 3\n\"\"\"\n",
	} {
		_, err := Like([]byte(text), Vehicle{Label: "b", Job: "7"})
		assert.ErrorContains(t, err, "write its [vehicle] a line a key", name)
	}
	_, err := Like([]byte("schema = 2\n"), Vehicle{Label: "b"})
	assert.ErrorContains(t, err, "vehicle.label: missing")
}
