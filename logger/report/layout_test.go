package report

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// TestThirds: rows of three, however few are in the last.
func TestThirds(t *testing.T) {
	for n, want := range []int{0, 1, 1, 1, 2, 2, 2, 3} {
		rows := thirds(make(row, n))
		require.Len(t, rows, want, "%d panels", n)
		for _, r := range rows {
			assert.Len(t, r, 3)
		}
	}
}

// TestColumns: as many letters in each, in their order.
func TestColumns(t *testing.T) {
	lines := []string{"aaaa", "bb", "cc", "dddd", "e", "fff"}
	r := columns(3, lines)[0]
	assert.Equal(t, []string{"aaaa", "bb"}, r[0].Lines)
	assert.Equal(t, []string{"cc", "dddd"}, r[1].Lines)
	assert.Equal(t, []string{"e", "fff"}, r[2].Lines)
	assert.Equal(t, []string{"aaaa"}, columns(2, lines[:1])[0][0].Lines)
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

// TestOneWheelOfBacklash: that of the latest stage, the others dashed behind it.
func TestOneWheelOfBacklash(t *testing.T) {
	for stages, want := range []int{0, 1, 1, 1} {
		j := &demoJob{}
		for _, stage := range []string{record.StageAsFound, record.StageSetUp, record.StageCaps}[:stages] {
			j.backlash(stage, 0.16, 0.01, 0, 0)
		}
		wheels := pictures(compose(Build(demoSheet(), j.captures, reportDate)))
		require.Len(t, wheels, want, "%d stages", stages)
		for _, w := range wheels {
			ghosts := 0
			for _, m := range w.marks {
				if len(m.ink.dash) > 0 {
					ghosts++
				}
			}
			assert.Equal(t, stages-1, ghosts)
		}
	}
}

// TestRoundNotes: what was not measured, and what was not measured well.
func TestRoundNotes(t *testing.T) {
	j := &demoJob{}
	for _, p := range []int{1, 2, 4, 5, 6, 7} {
		j.add(record.StageCaps, record.FeatureBacklash, p, float64(p-1)*45, 0.16, 0.002, "mm")
	}
	j.captures[1].Quality = record.QualityKeyed
	j.captures[5].Quality = "base-creep+gaps"
	assert.Equal(t, []string{
		"Caps torqued: not measured at positions 3 and 8.",
		"Caps torqued, position 7: base-creep, gaps.",
	}, roundNotes(Build(demoSheet(), j.captures, reportDate).backlash()))
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
	rows := backlashSection(manyPositions()).Rows
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
	for _, c := range backlashSection(Build(demoSheet(), j.captures, reportDate)).Rows[0][0].Table.Columns[1:5] {
		heads = append(heads, c.Head)
	}
	assert.Equal(t, []string{"1 (0°)", "2 (45°)", "3 (90°)", "8 (315°)"}, heads)
}
