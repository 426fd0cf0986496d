package report

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// TestMeanWithoutAnUncertainty: where one position's is unknown, so is that of
// the mean, as everywhere else in the program.
func TestMeanWithoutAnUncertainty(t *testing.T) {
	j := &demoJob{}
	j.backlash(record.StageFinal, 0.16, 0.01, 0, 0)
	j.captures[7].U = math.NaN()
	d := Build(demoSheet(), j.captures, reportDate)
	assert.InDelta(t, 0.16, d.Judged[0].Value, 0.001)
	assert.True(t, math.IsNaN(d.Judged[0].expanded()))
}

// TestAMoveEmptiesOtherStages: what was set up before a later stage's move does
// not describe the gear any more, what was as found stays as it was found.
func TestAMoveEmptiesOtherStages(t *testing.T) {
	j := &demoJob{}
	j.backlash(record.StageAsFound, 0.16, 0.01, 0, 0)
	j.backlash(record.StageSetUp, 0.16, 0.01, 0, 0)
	j.add(record.StageFinal, record.FeatureMove, 0, math.NaN(), 1, math.NaN(), "notch")
	d := Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.backlash(), 1)
	assert.Equal(t, record.StageAsFound, d.backlash()[0].Stage)
	assert.Equal(t, record.StageSetUp, d.Judged[0].Stage, "the stage that waits")
	assert.Equal(t, gum.NotDecided, d.Judged[0].Verdict)
}

func TestRunoutPointsAndTime(t *testing.T) {
	j := &demoJob{}
	j.runout(record.StageBench, record.FeatureRunoutFlange, 0.02, 0, 0, 0)
	j.captures[7].Time, j.captures[3].Time = j.captures[3].Time, j.captures[7].Time
	j.add(record.StageBench, record.FeatureRunoutBore, 0, math.NaN(), 0.022, 0.002, "mm").AngleDeg = 30
	d := Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.Measured, 2)
	assert.Len(t, d.Measured[0].places(), 8)
	assert.False(t, d.Measured[0].Turned())
	assert.True(t, d.Measured[1].Turned(), "a turn has no places")

	j = &demoJob{}
	for p := 1; p <= 2; p++ {
		j.add(record.StageBench, record.FeatureRunoutFlange, p, float64(p)*90, 0.01, 0.002, "mm")
	}
	d = Build(demoSheet(), j.captures, reportDate)
	assert.False(t, d.Measured[0].Turned())
	assert.True(t, math.IsNaN(d.Measured[0].Runout.FIM), "two places show no movement")
}

func TestOneBolt(t *testing.T) {
	s := demoSheet()
	s.Bolts[0].Count, s.Bolts[0].Sequence = 1, nil
	j := &demoJob{}
	j.add(record.StageBench, record.FeatureWheelBolts, 1, 0, 98, 0.5, "N·m")
	d := Build(s, j.captures, reportDate)
	require.Len(t, d.Judged, 1)
	assert.Equal(t, "1 of 1, 98.0 to 98.0", d.Judged[0].Text)

	s.Bolts[0].Count = 2
	j.captures[0].ReadNote("pass 1 of 2 (30 %)")
	assert.Equal(t, "0 of 2", Build(s, j.captures, reportDate).Judged[0].Text, "nothing is tight yet")
}

// TestAmbientPressure: the temperature is taken out at the sheet's, or the standard one.
func TestAmbientPressure(t *testing.T) {
	at := func(ambient float64) string {
		d := demoData()
		d.Sheet.LeakDown.AmbientKPa = ambient
		curve := demoLeak()
		curve[0].TempC, curve[len(curve)-1].TempC = 20, 25
		airTest(d).Curve = curve
		return leakRows(d)[0][1].Picture.svg()
	}
	assert.Equal(t, at(0), at(leak.StandardAtmosphere))
	assert.NotEqual(t, at(0), at(95))
}

// TestPatterns: the advice takes both flanks, in their order.
func TestPatterns(t *testing.T) {
	flank := func(j *demoJob, feature string, along, up float64) {
		j.add(record.StageSetUp, feature, 1, math.NaN(), along, math.NaN(), "")
		j.add(record.StageSetUp, feature, 2, math.NaN(), up, math.NaN(), "")
	}
	one := &demoJob{}
	flank(one, record.FeaturePatternCoast, 0.2, 0.6)
	d := Build(demoSheet(), one.captures, reportDate)
	require.Len(t, d.Patterns, 1)
	assert.Nil(t, d.Patterns[0].Flanks[0])
	assert.Empty(t, words.Contact(d.Patterns[0].Advice))
	assert.Contains(t, written(t, JSON, d), `"drive": null`)

	both, free := &demoJob{}, demoSheet()
	free.GearSet.PinionDepth = "free"
	flank(both, record.FeaturePatternDrive, -0.5, 0.5)
	flank(both, record.FeaturePatternCoast, 0.5, 0.5)
	p := Build(free, both.captures, reportDate).Patterns[0]
	assert.Contains(t, words.Contact(p.Advice), "Both flanks meet at the face: move the pinion in")
	assert.Contains(t, words.Contact(p.Advice), "lie the other way than this tooth form should", "drive at the toe, coast at the heel")
}

func TestRejectedNamesItsPosition(t *testing.T) {
	c := record.Capture{Feature: record.FeatureBacklash, Position: 1, Value: 0.142, Unit: "mm"}
	assert.Equal(t, "backlash, position 1: 0.142 mm", rejectedWords(c))
	c.Position, c.Value = 0, math.NaN()
	assert.Equal(t, "backlash", rejectedWords(c))
}

func TestOneTryOfTheLock(t *testing.T) {
	j := &demoJob{}
	j.add(record.StageFinal, record.FeatureEngagement, 1, math.NaN(), 0.5, 0.1, "s").Note = "with cold oil"
	j.add(record.StageFinal, record.FeatureOilFill, 0, math.NaN(), 2, math.NaN(), "L").Note = "80W-90"
	d := Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.Judged, 2)
	assert.Equal(t, "with cold oil", d.Judged[0].Text)
	assert.Equal(t, "80W-90", d.Judged[1].Text)
}

func TestChangesInWords(t *testing.T) {
	j := &demoJob{}
	j.backlash(record.StageSetUp, 0.16, 0.01, 0, 0)
	d := Build(demoSheet(), j.captures, reportDate)
	assert.Empty(t, written(t, WriteChanges, d), "one stage: nothing to compare")
	j.backlash(record.StageCaps, 0.18, 0.01, 0, 0)
	d = Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.Changes, 1, "with two stages the last is not compared with the first again")
	assert.True(t, strings.HasPrefix(written(t, WriteChanges, d), inventedBanner+"\n"))
	for i := range j.captures {
		j.captures[i].U = math.NaN()
	}
	c := Build(demoSheet(), j.captures[:9], reportDate).Changes[0]
	assert.True(t, math.IsNaN(c.U), "one pair without an uncertainty proves no change")
	assert.Equal(t, "0.020 mm looser as read, uncertainty unknown when the caps were torqued.", c.Sentence)
}

func TestNotKnownIsNullInJSON(t *testing.T) {
	j := &demoJob{}
	for p := 1; p <= 4; p++ {
		j.add(record.StageFinal, record.FeatureBacklash, p, float64(p-1)*90, 0.16, 0.002, "mm")
	}
	got := written(t, JSON, Build(demoSheet(), j.captures, time.Time{}))
	assert.Contains(t, got, `"made": null`)
	assert.Contains(t, got, `"h2": null`)
	assert.NotContains(t, got, `"h1": null`)
	_, err := Object{{"x", func() {}}}.MarshalJSON()
	assert.Error(t, err)
}

// TestSummaryWordsItsVerdicts: too close a torque says why, a rule that is not
// the usual one is named, and a backlash to be measured again keeps its window.
func TestSummaryWordsItsVerdicts(t *testing.T) {
	nan := math.NaN()
	j := &demoJob{}
	j.add(record.StageFinal, record.FeaturePreloadTotal, 0, nan, 1.71, 0.05, "N·m")
	d := Build(demoSheet(), j.captures, reportDate)
	assert.Equal(t, gum.TooClose, d.Verdict)
	assert.Equal(t, "the uncertainty reaches over a limit", d.Judged[0].Reason)

	s := demoSheet()
	s.Windows[0].Rule = analysis.RuleTightestInside
	j = &demoJob{}
	j.backlash(record.StageFinal, 0.16, 0.01, 0, 0)
	assert.Contains(t, Build(s, j.captures, reportDate).Headline, "1 measured, inside the limits you entered, backlash by the rule tightest-inside. NOT MEASURED: backlash (as-found), ")
	j.add(record.StageFinal, record.FeatureMove, 0, nan, 1, nan, "notch")
	d = Build(s, j.captures, reportDate)
	assert.Contains(t, d.Headline, "Not decided yet: backlash. NOT MEASURED: ")
	assert.InDelta(t, 0.13, d.Judged[0].Spec.Limits.Lower, 1e-9)

	s.Gauge.ResolutionMM = 0
	assert.Equal(t, "0.160 mm", Build(s, j.captures, reportDate).Judged[0].Format.quantity(0.16))
}
