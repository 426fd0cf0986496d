package report

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// TestThirds: lines take the first free place of a row of three, or a row alone.
func TestThirds(t *testing.T) {
	shape := func(panels int, lines ...string) string {
		var rows []string
		for _, r := range thirds(make(row, panels), lines) {
			text := ""
			for _, p := range r {
				text += given(len(p.Lines) > 0, "L") + given(len(p.Lines) == 0, ".")
			}
			rows = append(rows, text)
		}
		return strings.Join(rows, " ")
	}
	assert.Equal(t, ".L.", shape(1, "x"))
	assert.Equal(t, "..L", shape(2, "x"))
	assert.Equal(t, "... L", shape(3, "x"))
	assert.Equal(t, "... .L.", shape(4, "x"))
	assert.Equal(t, "...", shape(2))
	assert.Equal(t, "... ...", shape(6))
}

func TestTitleBlock(t *testing.T) {
	names := func(d Data) map[string]string {
		m := map[string]string{}
		for _, f := range titleBlock(d) {
			m[f.Name] = f.Text
		}
		return m
	}
	var d Data
	assert.Empty(t, names(d))
	d.Sheet.GearSet.PinionTeeth = 10
	assert.NotContains(t, names(d), "Crown wheel : pinion")
	d.Sheet.GearSet.PinionTeeth, d.Sheet.GearSet.WheelTeeth = 0, 41
	assert.NotContains(t, names(d), "Crown wheel : pinion")
	d.Sheet.GearSet.PinionTeeth = 10
	assert.Equal(t, "41:10 (4.10)", names(d)["Crown wheel : pinion"])
	d.Sheet.GearSet.WheelDiameter, d.Sheet.GearSet.Used = 210.5, true
	assert.Equal(t, "41:10 (4.10), Ø 210.5 mm, used", names(d)["Crown wheel : pinion"])
}

// TestIdentity: whose vehicle it is, what was fitted, who measured and who checks,
// and with which tools, as the sheet and the record have it.
func TestIdentity(t *testing.T) {
	s := demoSheet()
	s.Vehicle.VIN, s.Vehicle.CentreSerial, s.Vehicle.CheckedBy = "INVENTED000000017", "c-0042", "an engineer"
	s.Tools = []sheet.Tool{
		{Name: "torque wrench", Serial: "w-17", Certificate: "K 5521", Due: "2026-03-13"},
		{Name: "indicator", Serial: "i-3", Due: "2026-09-01"}, {Name: "feeler"},
	}
	captures := demoCaptures()
	captures[0].By = "second hands"
	d := Build(s, captures, reportDate)
	var block []string
	for _, f := range titleBlock(d) {
		block = append(block, f.Name+": "+f.Text)
	}
	assert.Subset(t, block, []string{"VIN: INVENTED000000017", "Serial of the centre fitted: c-0042", "Measured by: demo hands, second hands", "Checked by: an engineer"})
	texts := pageTexts(compose(d))
	assert.Subset(t, texts, []string{
		"Torque wrench, serial w-17, certificate K 5521, to be calibrated again 2026-03-13, OVERDUE when this job was last measured.",
		"Indicator, serial i-3, to be calibrated again 2026-09-01.", "Feeler.",
	})
	assert.Contains(t, written(t, JSON, d), `"vin": "INVENTED000000017"`)
}

// TestWorthTelling: a failed try of the lock is told of without a window, a
// torque is not.
func TestWorthTelling(t *testing.T) {
	for _, tt := range []struct {
		feature string
		v       gum.Verdict
		limits  gum.Limits
		want    bool
	}{
		{record.FeatureBacklash, gum.Inside, gum.NoLimits("mm"), true},
		{record.FeatureEngagement, gum.Outside, gum.NoLimits("s"), true},
		{record.FeatureEngagement, gum.Inside, gum.Limits{Upper: 1}, false},
		{record.FeaturePatternDrive, gum.NotDecided, gum.NoLimits(""), true},
		{record.FeaturePreloadTotal, gum.NotDecided, gum.NoLimits("N·m"), false},
		{record.FeaturePreloadTotal, gum.Outside, gum.Limits{Upper: 1}, true},
	} {
		j := judgedLine(tt.feature, tt.v, tt.limits)
		assert.False(t, j.worthTelling(), "%s without a reason", tt.feature)
		j.Reason = "why"
		assert.Equal(t, tt.want, j.worthTelling(), "%s %s", tt.feature, tt.v)
	}
}

func TestGaugeWords(t *testing.T) {
	var d Data
	assert.Empty(t, gaugeWords(d))
	d.Sheet.Gauge = sheet.GaugeData{Label: "indicator 1", ResolutionMM: 0.01}
	assert.Equal(t, "Indicator: indicator 1, resolution 0.01 mm.", gaugeWords(d))
	d.Gauges = []string{"keyed"}
	assert.Equal(t, "Indicator: indicator 1, resolution 0.01 mm. Gauges behind the readings: keyed.", gaugeWords(d))

	var s sheet.Sheet
	s.Plunger.ContactRadius = 100
	assert.NotContains(t, uncertaintyWords(s), "alignment", "a radius alone turns nothing")
	s.Plunger.HeelRadius = 100
	assert.Contains(t, uncertaintyWords(s), "the plunger's alignment")
}

// TestSummaryOfFlanks: both flanks of a stage are one line, of two stages two.
func TestSummaryOfFlanks(t *testing.T) {
	rows := func(coastStage string) int {
		j := &demoJob{}
		for p := 1; p <= 2; p++ {
			j.add(record.StageSetUp, record.FeaturePatternDrive, p, math.NaN(), 0.1, math.NaN(), "")
			j.add(coastStage, record.FeaturePatternCoast, p, math.NaN(), 0.1, math.NaN(), "")
		}
		return len(summarySection(Build(demoSheet(), j.captures, reportDate)).Rows[0][0].Table.Rows)
	}
	assert.Equal(t, 1, rows(record.StageSetUp))
	assert.Equal(t, 2, rows(record.StageFinal))
}

// TestOneStageHasOneWheel: its picture stands in the summary.
func TestOneStageHasOneWheel(t *testing.T) {
	for stages, want := range []int{0, 1, 3, 4} {
		j := &demoJob{}
		for _, stage := range []string{record.StageAsFound, record.StageSetUp, record.StageCaps}[:stages] {
			j.backlash(stage, 0.16, 0.01, 0, 0)
		}
		wheels := 0
		for _, p := range pictures(compose(Build(demoSheet(), j.captures, reportDate))) {
			if strings.HasPrefix(p.title, "Backlash around the wheel") {
				wheels++
			}
		}
		assert.Equal(t, want, wheels, "%d stages", stages)
	}
}

// TestDashedNeedsBothHarmonics: once a turn is drawn beside the sum only where
// they differ.
func TestDashedNeedsBothHarmonics(t *testing.T) {
	curves := func(r runout.Result) (n int) {
		for _, m := range runoutPicture(runoutOf("run-out", r)).marks {
			if len(m.points) > 50 {
				n++
			}
		}
		return n
	}
	h := &analysis.Harmonic{Amplitude: 0.01, PhaseDeg: 30}
	assert.Equal(t, 0, curves(runout.Result{}))
	assert.Equal(t, 1, curves(runout.Result{H1: h}))
	assert.Equal(t, 2, curves(runout.Result{H1: h, H2: h}))
}

// TestRoundNotes: what was not measured, and what was not measured well.
func TestRoundNotes(t *testing.T) {
	j := &demoJob{}
	for _, p := range []int{1, 2, 4, 5, 6, 7} {
		j.add(record.StageCaps, record.FeatureBacklash, p, float64(p-1)*45, 0.16, 0.002, "mm")
	}
	j.captures[1].Quality = record.QualityKeyed
	j.captures[5].Quality = record.QualityBound
	assert.Equal(t, []string{
		"Caps torqued: not measured at positions 3 and 8.",
		"Caps torqued, position 7: an upper bound, for the wheel never rested at its stops.",
	}, roundNotes(Build(demoSheet(), j.captures, reportDate).Backlash))
}

// TestOpenHolds stand under the headline while they block, and no longer.
func TestOpenHolds(t *testing.T) {
	var d Data
	assert.Empty(t, underHeadline(d))
	d.Holds = []job.HoldPoint{{Reason: "Wait for the air.", Blocking: true}, {Reason: "Done."}, {Reason: "Look again.", Blocking: true}}
	assert.Equal(t, []string{"Still open: Wait for the air. Look again."}, underHeadline(d))
}

// TestManyPositions: no table is wider than the page, and each position stands once.
func TestManyPositions(t *testing.T) {
	rows := backlashRows(manyPositions().Backlash)
	require.Len(t, rows, 5)
	positions := 0
	for i, r := range rows {
		for _, c := range r[0].Table.Columns {
			positions += strings.Count(c.Head, "°")
		}
		assert.Equal(t, i == 0, slices.Contains(r[0].Table.Columns, column{"Verdict", false}))
	}
	assert.Equal(t, 41, positions)
}

// TestEveryPositionHasAColumn, also one that only a shorter round has.
func TestEveryPositionHasAColumn(t *testing.T) {
	j := &demoJob{}
	for _, p := range []int{1, 2, 3} {
		j.add(record.StageAsFound, record.FeatureBacklash, p, float64(p-1)*45, 0.16, 0.002, "mm")
	}
	for _, p := range []int{2, 8} {
		j.add(record.StageSetUp, record.FeatureBacklash, p, float64(p-1)*45, 0.16, 0.002, "mm")
	}
	var heads []string
	for _, c := range backlashRows(Build(demoSheet(), j.captures, reportDate).Backlash)[0][0].Table.Columns[1:5] {
		heads = append(heads, c.Head)
	}
	assert.Equal(t, []string{"1 (0°)", "2 (45°)", "3 (90°)", "8 (315°)"}, heads)
}
