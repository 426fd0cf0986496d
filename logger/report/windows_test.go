package report

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func limit(v float64) *float64 { return &v }

// TestWindowsAsPrinted: a window stands in the report as the manual prints it,
// with its page, and beside it what the readings were compared with.
func TestWindowsAsPrinted(t *testing.T) {
	s := sheet.Sheet{
		GearSet: sheet.GearSet{PressureAngleDeg: 20, SpiralAngleDeg: 35},
		Plunger: sheet.Plunger{Measured: "normal", Spec: "transverse"},
		Preload: sheet.Preload{Kind: "starting"},
		Windows: []sheet.Window{
			{Feature: record.FeatureBacklash, Unit: "in", Lower: limit(0.006), Upper: limit(0.012), MaxSpread: limit(0.003),
				Rule: analysis.RuleTightestInside, Source: "page 7-12"},
			{Feature: record.FeatureRunoutBackFace, Unit: "mm", Upper: limit(0.08), Default: true, Source: "common practice"},
			{Feature: record.FeaturePreloadTotal, Unit: "lbf·in", Lower: limit(15)},
		},
		Bolts: []sheet.BoltList{{Feature: record.FeatureWheelBolts, Count: 10, Target: 98, Thread: "M12x1.25", Class: "10.9"}},
	}
	// cos 20° cos 35° = 0.7697; 0.006 in and 0.012 in are 0.1524 and 0.3048 mm.
	assert.Equal(t, []string{
		"Windows as entered, in the manual's unit (source); → as judged. Backlash: 0.006 to 0.012 in, spread ≤ 0.003 in, the tightest position inside, transverse backlash → 0.117 to 0.235 mm, × 0.770 because the plunger reads normal (page 7-12).",
		"Run-out, back face: ≤ 0.08 mm (NOT the maker's: common practice).",
		"Total preload: ≥ 15 lbf·in, starting torque → ≥ 1.69 N·m (source not entered).",
		"Crown wheel bolts: 10 × 98 N·m ± 10 %, M12x1.25 10.9.",
	}, windowLines(s))
	assert.Empty(t, windowLines(sheet.Sheet{}))
}

func TestHeadlineOfDefaultWindows(t *testing.T) {
	entered := judgedLine("Backlash", gum.Outside, gum.Limits{Lower: 1, Upper: 2})
	usual := judgedLine("Air test", gum.Outside, gum.Limits{Lower: 1, Upper: 2})
	usual.Default = true
	for _, tc := range []struct {
		lines []Judged
		want  string
	}{
		{[]Judged{entered}, "OUTSIDE the limits you entered: backlash"},
		{[]Judged{entered, usual}, "OUTSIDE the limits in job.toml, 1 of them not the maker's: backlash, air test"},
		{[]Judged{usual, usual}, "OUTSIDE the limits in job.toml, 2 of them not the maker's: air test, air test"},
	} {
		_, headline := overall(tc.lines)
		assert.Equal(t, tc.want, headline)
	}
}

// TestUncertaintyNamesWhatIsInIt and what is missing from it.
func TestUncertaintyNamesWhatIsInIt(t *testing.T) {
	var s sheet.Sheet
	assert.Contains(t, uncertaintyWords(s), "from the repeatability of the readings. A dash: not known, and then nothing is proven. Not entered, and so not in it: the gauge's resolution and its permissible error; the true uncertainty is larger.")
	s.Gauge.ResolutionMM, s.Gauge.MPEMM, s.Plunger.CosineDeg = 0.01, 0.003, 10
	assert.Contains(t, uncertaintyWords(s), "from the repeatability of the readings, the gauge's resolution, its permissible error and the plunger's alignment. A dash: not known, and then nothing is proven.")
	assert.NotContains(t, uncertaintyWords(s), "Not entered")
}

// TestPeriod: the days are those of the place, whatever the clock did.
func TestPeriod(t *testing.T) {
	east := time.FixedZone("", 9*3600)
	at := func(day, hour int) time.Time { return time.Date(2026, 3, day, hour, 0, 0, 0, time.UTC) }
	assert.Empty(t, period(time.Time{}, time.Time{}))
	assert.Equal(t, "2026-03-05 (UTC+09:00)", period(at(4, 20).In(east), at(5, 3).In(east)))
	assert.Equal(t, "2026-03-04 (UTC+00:00) to 2026-03-05 (UTC+00:00)", period(at(4, 20), at(5, 3)))
	back := []record.Capture{{ID: 1, Time: at(6, 0)}, {ID: 2, Time: at(4, 0)}, {ID: 3, Time: at(5, 0)}}
	d := Build(sheet.Sheet{}, back, at(7, 0))
	assert.Equal(t, []time.Time{at(4, 0), at(6, 0)}, []time.Time{d.First, d.Last})
}

// TestEveryTorqueIsAFigure in the page that HTML and PDF lay out, and every
// run-out names its stage.
func TestEveryTorqueIsAFigure(t *testing.T) {
	d := demoData()
	texts := pageTexts(compose(d))
	for _, m := range d.of(boltLists...) {
		for _, b := range d.bolts(m) {
			assert.Contains(t, texts, m.Format.figure(b.Capture.Value), "%s, bolt %d", m.title(), b.Capture.Position)
		}
	}
	for _, n := range []int{41, 20} { // more than fit across the page
		bolts := 0
		for _, r := range boltSection(circleOf(append(make([]float64, n-1), 100)...)).Rows {
			if t := r[0].Table; t != nil {
				bolts += len(t.Columns) - 1
			}
		}
		assert.Equal(t, n, bolts)
	}
	j := &demoJob{}
	j.runout(record.StageBench, record.FeatureRunoutBackFace, 0.01, 0, 0, 0)
	j.runout(record.StageAsFound, record.FeatureRunoutBackFace, 0.02, 0, 0, 0)
	var names []string
	rows := runoutSection(Build(demoSheet(), j.captures, reportDate)).Rows
	for _, r := range rows[len(rows)-1][0].Table.Rows {
		names = append(names, r[0].Text)
	}
	require.Equal(t, []string{"Back face, as found", "Back face, on the bench"}, names)
}

// TestTablesCanShrink: only a figure of one reading is kept from breaking, and
// a long word may be cut.
func TestTablesCanShrink(t *testing.T) {
	assert.NotRegexp(t, `\.number \{[^}]*nowrap`, pageCSS)
	assert.NotRegexp(t, `(^|\n|, )\.judged[ ,{][^}]*nowrap`, pageCSS)
	assert.Regexp(t, `\.word \{[^}]*overflow-wrap: anywhere`, pageCSS)
}
