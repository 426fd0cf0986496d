package logger

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// readAt is a backlash of 0.15 mm, read in a direction at a radius.
func readAt(direction string, radius float64) Capture {
	return Capture{Feature: FeatureBacklash, Value: 0.15, U: 0.003, Unit: "mm", Convention: direction, RadiusMM: radius}
}

func TestBacklashIsReadInTheTermsOfTheSheet(t *testing.T) {
	var s Sheet
	s.Plunger.Measured, s.Plunger.ContactRadius = analysis.Transverse, 80
	s.GearSet.PressureAngleDeg, s.GearSet.SpiralAngleDeg = 20, 35
	s.Plunger.HeelRadius = 100
	assert.InDelta(t, 0.15*1.25, s.readingFactor()*0.15, 1e-12)
	c := s.asMeasured(Capture{Note: "by eye"})
	assert.Equal(t, "by eye; reading times 1.25, from radius 80 to 100 mm", c.Note)
	assert.Equal(t, analysis.Transverse, c.Convention)
	assert.Equal(t, 100.0, c.RadiusMM, "corrected to the heel")

	got := s.InTerms([]Capture{readAt(analysis.Normal, 50), readAt(analysis.Transverse, 100), {Feature: FeaturePreloadTotal, Value: 2}})
	assert.InDelta(t, 0.15*2/0.769751, got[0].Value, 1e-5) // cos 20° cos 35° = 0.769751
	assert.InDelta(t, 0.003*2/0.769751, got[0].U, 1e-6)
	assert.Equal(t, "converted: 0.15 mm read normal at 50 mm", got[0].Note)
	assert.Equal(t, readAt(analysis.Transverse, 100), got[1], "nothing to convert")
	assert.Equal(t, 2.0, got[2].Value)
	assert.Empty(t, s.OtherTerms(got))

	for _, c := range []Capture{readAt("", 100), readAt(analysis.Transverse, math.NaN())} {
		assert.Contains(t, s.OtherTerms([]Capture{c}), ", where the sheet now says transverse at 100 mm: cannot be converted")
	}
	s.Plunger.HeelRadius = 0
	assert.Equal(t, 80.0, s.valueRadius())
	s.Plunger.ContactRadius = 0
	assert.True(t, math.IsNaN(s.valueRadius()))
	assert.Contains(t, s.OtherTerms([]Capture{readAt(analysis.Transverse, 80)}), "the sheet now says transverse at an unknown radius")
}

func TestTerms(t *testing.T) {
	assert.Empty(t, Terms(nil))
	assert.Equal(t, "normal at 106 mm", Terms([]Capture{readAt("normal", 106), readAt("normal", 106)}))
	assert.Empty(t, Terms([]Capture{readAt("normal", 106), readAt("normal", 90)}))
	assert.Equal(t, "in an unknown direction at an unknown radius", Terms([]Capture{readAt("", math.NaN())}))
}

func TestBoltsOfTheSheet(t *testing.T) {
	b := BoltList{Count: 4, Feature: FeatureCapBolts, Unit: "lbf·ft", Target: 60}
	assert.InDelta(t, 81.349, b.TargetNm(), 1e-3)
	assert.Equal(t, []float64{0.3, 0.6, 1}, b.Passes())
	assert.Equal(t, analysis.Sequence(4), b.Order())
	assert.Equal(t, 80.0, b.Setting(80), "no adapter")
	assert.Equal(t, 10.0, b.openMinutes())
	assert.Equal(t, 0.1, b.Tolerance())
	// ISO 6789-1 permits 4 %; rectangular, with half a count of the last digit.
	assert.InDelta(t, math.Hypot(80*0.04/math.Sqrt(3), 0.1/math.Sqrt(12)), b.pullUncertainty(80, 0.1), 1e-9)

	b.PassesPct, b.Sequence, b.OpenTimeMin, b.TolerancePct, b.WrenchMPEPct = []int{50, 100}, []int{2, 1, 4, 3}, 25, 5, 1
	b.AdapterLength, b.WrenchLength = 100, 400
	assert.Equal(t, []float64{0.5, 1}, b.Passes())
	assert.Equal(t, []int{2, 1, 4, 3}, b.Order())
	assert.InDelta(t, 80*400.0/500, b.Setting(80), 1e-9, "in line with the wrench")
	assert.Equal(t, 25.0, b.openMinutes())
	assert.Equal(t, 0.05, b.Tolerance())
	assert.InDelta(t, 80*0.01/math.Sqrt(3), b.pullUncertainty(80, 0), 1e-9)
}

func TestWhatTheSheetLeavesOut(t *testing.T) {
	settle, test := LeakDown{}.times()
	assert.Equal(t, [2]float64{120, 600}, [2]float64{settle, test})
	settle, test = LeakDown{SettleMin: 1, TestMin: 5}.times()
	assert.Equal(t, [2]float64{60, 300}, [2]float64{settle, test})
	with, without := true, false
	assert.Equal(t, "running torque", Preload{}.Words())
	assert.Equal(t, "starting torque, with the seal", Preload{Kind: "starting", WithSeal: &with}.Words())
	assert.Equal(t, "running torque, without the seal", Preload{WithSeal: &without}.Words())

	assert.Equal(t, []string{StageAsFound, StageBench, StageSetUp, StageCaps, StageFinal}, Sheet{}.StageList())
	assert.Len(t, Sheet{}.PositionList(FeatureBacklash), 8)
	assert.Len(t, Sheet{GearSet: GearSet{PinionTeeth: 11}}.PositionList(FeatureBacklash), 8)
	cycles := Sheet{}.PositionList(FeatureEngagement)
	assert.Len(t, cycles, 10)
	assert.Equal(t, "cycle 10", cycles[9].Label)
	assert.Len(t, Sheet{Engagement: Engagement{Cycles: 3}}.PositionList(FeatureEngagement), 3)
	assert.Equal(t, "up", Sheet{}.PositionList(FeaturePatternCoast)[1].Label)
}

func TestDoubtedMoves(t *testing.T) {
	shims, notched := Sheet{Adjuster: Adjuster{Kind: "shims"}}, Sheet{Adjuster: Adjuster{Kind: "threaded", Notches: 14}}
	for _, tt := range []struct {
		s      Sheet
		amount float64
		want   string
	}{
		{shims, -1, ""}, {shims, 1.5, "1.5 mm of shim is more than any set-up needs"},
		{notched, 14, ""}, {notched, -15, "-15 notches is more than a whole turn of the adjuster"},
		{Sheet{}, 20, ""}, {Sheet{}, 21, "21 notches is more than any set-up needs"},
	} {
		assert.Equal(t, tt.want, tt.s.DoubtMove(tt.amount))
	}
}

func TestPrintedWindows(t *testing.T) {
	low, high := 9.0, 14.5
	s := Sheet{Bolts: []BoltList{{Feature: FeatureCapBolts, Unit: "kgf·m"}}}
	printed := func(lower, upper *float64) string {
		s.Windows = []Window{{Feature: FeaturePreloadTotal, Unit: "lbf·in", Lower: lower, Upper: upper}}
		return s.PrintedWindow(FeaturePreloadTotal)
	}
	assert.Equal(t, "9 to 14.5 lbf·in", printed(&low, &high))
	assert.Equal(t, "at most 14.5 lbf·in", printed(nil, &high))
	assert.Equal(t, "at least 9 lbf·in", printed(&low, nil))
	assert.Empty(t, printed(nil, nil))
	assert.Equal(t, "lbf·in", s.UnitFor(FeaturePreloadTotal))
	assert.Equal(t, "kgf·m", s.UnitFor(FeatureCapBolts))
	assert.Equal(t, "N·m", s.UnitFor(FeatureWheelBolts))
	s.Windows[0].Rule = analysis.RuleAnyInside
	assert.Equal(t, analysis.RuleAnyInside, s.Window(FeaturePreloadTotal).Rule)
	assert.Equal(t, analysis.RuleAllInside, s.Window(FeatureOilFill).Rule)
}
