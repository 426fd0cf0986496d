package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestBuildWholeJob(t *testing.T) {
	sheet, captures := demoSheet(), demoCaptures()
	d := Build(sheet, captures, reportDate)

	assert.Equal(t, gum.Inside, d.Verdict)
	assert.Equal(t, "7 measured, all inside the limits in job.toml, 1 of them not the maker's. SKIPPED: engagement of the lock", d.Headline)
	assert.Equal(t, captures[0].Time, d.First)
	assert.Equal(t, captures[len(captures)-1].Time, d.Last)
	assert.Equal(t, []string{"indicator 1", "torque wrench"}, d.Gauges)
	assert.True(t, fmt.Sprint(demoCaptures()) == fmt.Sprint(captures), "the captures are the caller's")

	var stages []string
	for _, r := range d.backlash() {
		stages = append(stages, r.Stage)
		require.Len(t, r.Results, 8)
		assert.InDelta(t, 0.0042, r.Results[0].Capture.U*gum.Coverage, 1e-12, "expanded, k = 2")
	}
	assert.Equal(t, []string{"as-found", "set-up", "caps-torqued", "final"}, stages)
	assert.InDelta(t, 0.160, d.backlash()[1].Round.Mean, 0.001, "only what was measured after the last move")

	require.Len(t, d.Judged, 11)
	assert.Equal(t, "final", d.Judged[0].Stage)
	assert.InDelta(t, d.backlash()[3].Round.Mean, d.Judged[0].Value, 1e-12)
	assert.Equal(t, "8 positions, 0.153 to 0.181, spread 0.028", d.Judged[0].Text)

	require.Len(t, d.Rejected, 1)
	assert.Equal(t, "backlash, position 3: 0.142 mm (the pinion slipped)", d.Rejected[0].Text)
	require.Len(t, d.Remarks, 2)
	assert.Equal(t, "override", d.Remarks[1].Kind)
}

func TestMoves(t *testing.T) {
	moves := demoData().Moves
	require.Len(t, moves, 2)
	for i, want := range []struct{ amount, net, before, after float64 }{{1, 1, 0.2213, 0.1383}, {-1, 0, 0.1383, 0.1603}} {
		assert.InDelta(t, want.amount, moves[i].Value, 1e-12)
		assert.InDelta(t, want.net, moves[i].Net, 1e-12)
		assert.InDelta(t, want.before, moves[i].Before, 1e-4)
		assert.InDelta(t, want.after, moves[i].After, 1e-4)
	}
}

func TestMovesTakeBackWhatWasUndone(t *testing.T) {
	j := &demoJob{}
	nan := math.NaN()
	j.add("set-up", record.FeatureBacklash, 1, 0, 0.20, 0.002, "mm")
	j.add("set-up", record.FeatureBacklash, 2, 90, 0.90, 0.002, "mm")
	undone := j.add("set-up", record.FeatureBacklash, 2, 90, nan, nan, "mm")
	undone.Supersedes, undone.Quality = 2, record.QualityRejected
	j.add("set-up", record.FeatureMove, 0, nan, 1, nan, "notch")
	j.add("caps-torqued", record.FeatureBacklash, 1, 0, 0.15, 0.002, "mm")

	moves := Build(demoSheet(), j.captures, reportDate).Moves
	require.Len(t, moves, 1)
	assert.InDelta(t, 0.20, moves[0].Before, 1e-12)
	assert.True(t, math.IsNaN(moves[0].After), "another stage does not show what the move did")
}

func TestMovesAreThoseOfTheLogger(t *testing.T) {
	j := &demoJob{}
	j.backlash(record.StageSetUp, 0.221, 0.014, 120, 0.004)
	j.add(record.StageSetUp, record.FeatureMove, 0, math.NaN(), 1, math.NaN(), "notch")
	j.backlash(record.StageSetUp, 0.170, 0.014, 120, 0.004)
	j.add(record.StageSetUp, record.FeatureMove, 0, math.NaN(), 1, math.NaN(), "notch")
	for p := 1; p <= 2; p++ { // half a round
		j.add(record.StageSetUp, record.FeatureBacklash, p, float64(p-1)*45, 0.12, 0.002, "mm")
	}
	history := job.MoveHistory(demoSheet(), j.captures)
	moves := Build(demoSheet(), j.captures, reportDate).Moves
	require.Len(t, moves, 2)
	for i, m := range moves {
		assert.InDelta(t, history[i].Move.Before, m.Before, 1e-12)
		assert.InDelta(t, history[i].Move.After, m.After, 1e-12)
		assert.InDelta(t, history[i].Advised, m.Expected, 1e-12)
		assert.InDelta(t, 2*history[i].U, m.ExpectedU, 1e-12)
	}
	assert.InDelta(t, 0.12, moves[1].After, 1e-12)
}

// TestHeadlineAfterAMove: what was measured before the adjusters were moved is
// no verdict on the axle as it is.
func TestHeadlineAfterAMove(t *testing.T) {
	nan := math.NaN()
	j := &demoJob{}
	j.backlash(record.StageAsFound, 0.165, 0.005, 0, 0)
	assert.Equal(t, gum.Inside, Build(demoSheet(), j.captures, reportDate).Verdict)
	j.add(record.StageSetUp, record.FeatureMove, 0, nan, 1, nan, "notch")
	d := Build(demoSheet(), j.captures, reportDate)
	assert.Equal(t, gum.NotDecided, d.Verdict, d.Headline)
	assert.Equal(t, "Not decided yet: backlash. NOT MEASURED: run-out of the carrier flange, crown wheel bolts, run-out of the back face, backlash (set-up), contact pattern, bearing cap bolts, backlash (caps-torqued), total preload, backlash (final), air test, engagement of the lock, closing up", d.Headline)

	j.backlash(record.StageSetUp, 0.165, 0.005, 0, 0)
	j.backlash(record.StageFinal, 0.165, 0.005, 0, 0)
	assert.Equal(t, gum.Inside, Build(demoSheet(), j.captures, reportDate).Verdict)
	j.add(record.StageFinal, record.FeatureMove, 0, nan, 1, nan, "notch")
	j.backlash(record.StageSetUp, 0.165, 0.005, 0, 0)
	d = Build(demoSheet(), j.captures, reportDate)
	assert.Equal(t, gum.NotDecided, d.Verdict, d.Headline)
	assert.Equal(t, record.StageFinal, d.Judged[0].Stage)
	assert.Contains(t, d.Judged[0].Text, "not re-measured since")
	require.Len(t, d.backlash(), 2, "as found, and set up since the move")
}

// TestChangesNeedTheSameConvention: as-found read square to the tooth and set-up in
// the plane of rotation are the same backlash, a quarter apart.
func TestChangesNeedTheSameConvention(t *testing.T) {
	j := &demoJob{}
	for _, stage := range []string{record.StageAsFound, record.StageSetUp} {
		for p := 1; p <= 8; p++ {
			j.add(stage, record.FeatureBacklash, p, float64(p-1)*45, 0.150, 0.002, "mm")
			if stage == record.StageSetUp {
				j.captures[len(j.captures)-1].Convention, j.captures[len(j.captures)-1].Value = setup.Transverse, 0.195
			}
		}
	}
	sheet := demoSheet()
	sheet.Plunger.Measured = setup.Transverse
	d := Build(sheet, j.captures, reportDate)
	require.Len(t, d.Changes, 1)
	assert.Equal(t, "The mean did not change beyond 0.0064 mm when the backlash was set up.", d.Changes[0].Sentence)

	sheet.GearSet.SpiralAngleDeg, sheet.GearSet.PressureAngleDeg = 0, 0
	d = Build(sheet, j.captures, reportDate)
	assert.Equal(t, "Cannot be compared: as found was measured normal at 100 mm, set up transverse at 100 mm.", d.Changes[0].Sentence)
	assert.True(t, math.IsNaN(d.Changes[0].Change.Mean))
	assert.Equal(t, gum.NotDecided, d.backlash()[0].Results[0].Verdict)
	assert.NotEqual(t, gum.NotDecided, d.backlash()[1].Results[0].Verdict)
}

func TestRemarksTakenBackAreNotShown(t *testing.T) {
	j := &demoJob{}
	j.add(record.StageFinal, record.FeatureNote, 0, math.NaN(), math.NaN(), math.NaN(), "").Note = "of another job"
	j.add(record.StageFinal, record.FeatureNote, 0, math.NaN(), math.NaN(), math.NaN(), "").Note = "of this one"
	undone := *j.add(record.StageFinal, record.FeatureNote, 0, math.NaN(), math.NaN(), math.NaN(), "")
	undone.Note, undone.Supersedes, undone.Quality = "of another job", 1, record.QualityRejected
	j.captures[2] = undone
	d := Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.Remarks, 1)
	assert.Equal(t, "of this one", d.Remarks[0].Text)
	require.Len(t, d.Rejected, 1)
}

func TestBolts(t *testing.T) {
	j := &demoJob{}
	pull := func(bolt int, torque float64, note string) {
		j.add("bench", record.FeatureWheelBolts, bolt, 0, torque, 0.5, "N·m").ReadNote(note)
	}
	pull(1, 30, "pass 1 of 2 (30 %)")
	pull(1, 98.2, "pass 2 of 2 (100 %)")
	pull(6, 97.9, "")
	pull(3, 120, "pass 2 of 2 (100 %)")
	pull(8, 29, "pass 1 of 2 (30 %)")

	d := Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.Measured, 1)
	c := d.Measured[0]
	bolts := d.bolts(c)
	assert.InDelta(t, 98*0.96, c.Spec.Limits.Lower, 1e-9)
	assert.InDelta(t, 98*1.04, c.Spec.Limits.Upper, 1e-9)
	require.Len(t, bolts, 10)
	inJSON := resultsOf(t, d)["bolts"].([]any)[0].(map[string]any)["bolts"].([]any)
	for i, want := range []struct {
		number, pulls int
		torque        float64
		verdict       gum.Verdict
	}{
		{1, 2, 98.2, gum.Inside}, {6, 1, 97.9, gum.Inside}, {3, 1, 120, gum.Outside},
		{8, 1, math.NaN(), gum.NotDecided}, {5, 0, math.NaN(), gum.NotDecided},
	} {
		b := bolts[i]
		assert.Equal(t, want.number, b.Capture.Position)
		assert.InDelta(t, want.pulls, inJSON[i].(map[string]any)["pulls"], 0)
		assert.Equal(t, want.verdict, b.Verdict, "bolt %d", b.Capture.Position)
		if math.IsNaN(want.torque) {
			assert.True(t, math.IsNaN(b.Capture.Value), "bolt %d was not tightened to the end", b.Capture.Position)
		} else {
			assert.InDelta(t, want.torque, b.Capture.Value, 1e-12)
		}
	}
	assert.Equal(t, gum.Outside, c.Verdict)
	assert.Equal(t, "OUTSIDE the limits you entered: crown wheel bolts. NOT MEASURED: backlash (as-found), run-out of the carrier flange, crown wheel bolts, run-out of the back face, backlash (set-up), contact pattern, bearing cap bolts, backlash (caps-torqued), total preload, backlash (final), air test, engagement of the lock, closing up", d.Headline)
}

func TestCapBoltsInTheUnitOfTheManual(t *testing.T) {
	assert.Contains(t, written(t, JSON, demoData()), fmt.Sprintf(`"target": %.7f`, 65*1.3558179483314004))
}

// judgedLine is a line of the summary with the verdict v within l; a feature
// that is not known is its own title.
func judgedLine(title string, v gum.Verdict, l gum.Limits) Judged {
	var j Judged
	j.Feature, j.Verdict, j.Spec.Limits = title, v, l
	return j
}

func TestOverall(t *testing.T) {
	window := gum.Limits{Lower: 0, Upper: 1}
	line := func(title string, v gum.Verdict, l gum.Limits) Judged {
		return judgedLine(title, v, l)
	}
	for _, tc := range []struct {
		name  string
		lines []Judged
		want  gum.Verdict
		words string
	}{
		{"nothing", nil, gum.NotDecided, "No reading was judged against an entered window"},
		{"no window", []Judged{line("oil", "", gum.NoLimits("L"))}, gum.NotDecided, "No reading was judged against an entered window"},
		{"one", []Judged{line("a", gum.Inside, window)}, gum.Inside, "1 measured, all inside the limits you entered"},
		{"two", []Judged{line("a", gum.Inside, window), line("b", gum.Inside, window)}, gum.Inside,
			"2 measured, all inside the limits you entered"},
		{"too close beats inside", []Judged{line("a", gum.Inside, window), line("b", gum.TooClose, window)}, gum.TooClose, "Too close to call: b"},
		{"unfinished beats inside", []Judged{line("a", gum.Inside, window), line("b", "", window)}, gum.NotDecided, "Not decided yet: b"},
		{"outside beats all", []Judged{line("a", gum.Outside, window), line("b", gum.TooClose, window), line("c", "", window)},
			gum.Outside, "OUTSIDE the limits you entered: a"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			v, words := overall(tc.lines)
			assert.Equal(t, tc.want, v)
			assert.Equal(t, tc.words, words)
		})
	}
}

func TestChanges(t *testing.T) {
	cs := demoData().Changes
	require.Len(t, cs, 4)
	for i, want := range []struct {
		from, to, sentence string
		mean               float64
		significant        bool
	}{
		{"as-found", "set-up", "Moved by 0.012 mm when the backlash was set up, tighter.", -0.012, true},
		{"set-up", "caps-torqued", "Moved by 0.011 mm when the caps were torqued, looser.", 0.011, true},
		{"caps-torqued", "final", "The mean did not change beyond 0.0057 mm up to the final check.", -0.002, false},
		{"as-found", "final", "The mean did not change beyond 0.011 mm from as found to final; positions 2, 3, 5, 6, 7 and 8 did.", -0.003, false},
	} {
		assert.Equal(t, want.from, cs[i].From)
		assert.Equal(t, want.to, cs[i].To)
		assert.Equal(t, want.sentence, cs[i].Sentence)
		assert.InDelta(t, want.mean, cs[i].Change.Mean, 1e-9)
		assert.Equal(t, want.significant, cs[i].Change.Significant)
	}
}

func TestChangesNeedTheSamePositions(t *testing.T) {
	j := &demoJob{}
	j.add("as-found", record.FeatureBacklash, 1, 0, 0.20, 0.002, "mm")
	j.add("final", record.FeatureBacklash, 2, 90, 0.15, 0.002, "mm")
	cs := Build(demoSheet(), j.captures, reportDate).Changes
	require.Len(t, cs, 1)
	assert.Equal(t, "Cannot be compared: no position was measured in both stages.", cs[0].Sentence)
}

func TestStageOrder(t *testing.T) {
	s := sheet.Sheet{Stages: []string{"final", "as-found"}}
	cs := []record.Capture{{Stage: "re-check"}, {Stage: "as-found"}, {Stage: "re-check"}, {}}
	assert.Equal(t, []string{"final", "as-found", "re-check"}, stageOrder(s, cs))
	assert.Equal(t, []string{"final", "as-found"}, s.Stages)
}

func TestUncertaintyNotKnown(t *testing.T) {
	j := &demoJob{}
	for p := 1; p <= 8; p++ {
		j.add("as-found", record.FeatureBacklash, p, float64(p-1)*45, 0.16, math.NaN(), "mm")
	}
	d := Build(demoSheet(), j.captures, time.Time{})
	assert.Equal(t, gum.NotDecided, d.backlash()[0].Results[0].Verdict)
	assert.Equal(t, gum.NotDecided, d.Judged[0].Verdict)
	assert.Contains(t, strings.Join(underHeadline(d), " "), "as read inside, uncertainty unknown")
	assert.Equal(t, "Not decided yet: backlash. NOT MEASURED: run-out of the carrier flange, crown wheel bolts, run-out of the back face, backlash (set-up), contact pattern, bearing cap bolts, backlash (caps-torqued), total preload, backlash (final), air test, engagement of the lock, closing up", d.Headline)
	assert.Equal(t, "0.160 mm", d.Judged[0].Format.plusMinus(d.Judged[0].Value, d.Judged[0].expanded()))
}

func TestMovedAlone(t *testing.T) {
	moved := func(at ...int) string {
		c := StageChange{Format: Format{"mm", 3}, U: 0.01}
		for i := range 8 {
			c.Change.Positions = append(c.Change.Positions, analysis.PositionChange{Position: i + 1, Significant: slices.Contains(at, i+1)})
		}
		return changeSentence(c, "so")
	}
	assert.Equal(t, "The mean did not change beyond 0.010 mm so.", moved())
	assert.Equal(t, "The mean did not change beyond 0.010 mm so; position 3 did.", moved(3))
	assert.Equal(t, "The mean did not change beyond 0.010 mm so; positions 1, 3 and 8 did.", moved(1, 3, 8))
}
