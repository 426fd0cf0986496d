package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/setup"
	"crownlog/analysis/torque"
	"crownlog/logger/record"
)

// readAt is a backlash of 0.15 mm, read in a direction at a radius.
func readAt(direction string, radius float64) record.Capture {
	return record.Capture{Feature: record.FeatureBacklash, Value: 0.15, U: 0.003, Unit: "mm", Convention: direction, RadiusMM: radius}
}

func TestBacklashIsReadInTheConventionOfTheSheet(t *testing.T) {
	var s Sheet
	s.Plunger.Measured, s.Plunger.ContactRadius = setup.Transverse, 80
	s.GearSet.PressureAngleDeg, s.GearSet.SpiralAngleDeg = 20, 35
	s.Plunger.HeelRadius = 100
	assert.InDelta(t, 0.15*1.25, s.ReadingFactor()*0.15, 1e-12)
	c := s.AsMeasured(record.Capture{Note: "by eye"})
	assert.Equal(t, "by eye; reading times 1.25, from radius 80 to 100 mm", c.Note)
	assert.Equal(t, setup.Transverse, c.Convention)
	assert.Equal(t, 100.0, c.RadiusMM, "corrected to the heel")

	tilted := s
	tilted.Plunger.CosineDeg = 60
	assert.Equal(t, "reading times 0.625, plunger tilted 60°, from radius 80 to 100 mm", tilted.AsMeasured(record.Capture{}).Note)

	got := s.ConvertAll([]record.Capture{readAt(setup.Normal, 50), readAt(setup.Transverse, 100), {Feature: record.FeaturePreloadTotal, Value: 2}})
	assert.InDelta(t, 0.15*2/0.769751, got[0].Value, 1e-5) // cos 20° cos 35° = 0.769751
	assert.InDelta(t, 0.003*2/0.769751, got[0].U, 1e-6)
	assert.Equal(t, "converted: 0.15 mm read normal at 50 mm", got[0].Note)
	assert.Equal(t, readAt(setup.Transverse, 100), got[1], "nothing to convert")
	assert.Equal(t, 2.0, got[2].Value)
	assert.Empty(t, s.Unconvertible(got))

	for _, c := range []record.Capture{readAt("", 100), readAt(setup.Transverse, math.NaN())} {
		assert.Contains(t, s.Unconvertible([]record.Capture{c}), ", where job.toml now says transverse at 100 mm: cannot be converted")
	}
	s.Plunger.HeelRadius = 0
	assert.Equal(t, 80.0, s.valueRadius())
	s.Plunger.ContactRadius = 0
	assert.True(t, math.IsNaN(s.valueRadius()))
	assert.Contains(t, s.Unconvertible([]record.Capture{readAt(setup.Transverse, 80)}), "job.toml now says transverse at an unknown radius")
}

func TestConventionWords(t *testing.T) {
	assert.Empty(t, ConventionWords(nil))
	assert.Equal(t, "normal at 106 mm", ConventionWords([]record.Capture{readAt("normal", 106), readAt("normal", 106)}))
	assert.Empty(t, ConventionWords([]record.Capture{readAt("normal", 106), readAt("normal", 90)}))
	assert.Equal(t, "in an unknown direction at an unknown radius", ConventionWords([]record.Capture{readAt("", math.NaN())}))
}

func TestBoltsOfTheSheet(t *testing.T) {
	b := BoltList{Count: 4, Feature: record.FeatureCapBolts, Unit: "lbf·ft", Target: 60}
	assert.InDelta(t, 81.349, b.TargetNm(), 1e-3)
	assert.Equal(t, []float64{0.3, 0.6, 1}, b.Passes())
	assert.Equal(t, torque.Sequence(4), b.Order())
	assert.Equal(t, 80.0, b.Setting(80), "no adapter")
	assert.Equal(t, 10.0, b.OpenMinutes())
	assert.Equal(t, 0.1, b.Tolerance())
	// ISO 6789-1 permits 4 %; rectangular, with half a count of the last digit.
	assert.InDelta(t, math.Hypot(80*0.04/math.Sqrt(3), 0.1/math.Sqrt(12)), b.PullUncertainty(80, 0.1), 1e-9)

	b.PassesPct, b.Sequence, b.OpenTimeMin, b.TolerancePct, b.WrenchMPEPct = []int{50, 100}, []int{2, 1, 4, 3}, 25, 5, 1
	b.AdapterLength, b.WrenchLength = 100, 400
	assert.Equal(t, []float64{0.5, 1}, b.Passes())
	assert.Equal(t, []int{2, 1, 4, 3}, b.Order())
	assert.InDelta(t, 80*400.0/500, b.Setting(80), 1e-9, "in line with the wrench")
	assert.Equal(t, 25.0, b.OpenMinutes())
	assert.Equal(t, 0.05, b.Tolerance())
	assert.InDelta(t, 80*0.01/math.Sqrt(3), b.PullUncertainty(80, 0), 1e-9)
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
	s := Sheet{Bolts: []BoltList{{Feature: record.FeatureCapBolts, Unit: "kgf·m"}}}
	printed := func(lower, upper *float64) string {
		s.Windows = []Window{{Feature: record.FeaturePreloadTotal, Unit: "lbf·in", Lower: lower, Upper: upper}}
		return s.PrintedWindow(record.FeaturePreloadTotal)
	}
	assert.Equal(t, "9 to 14.5 lbf·in", printed(&low, &high))
	assert.Equal(t, "at most 14.5 lbf·in", printed(nil, &high))
	assert.Equal(t, "at least 9 lbf·in", printed(&low, nil))
	assert.Empty(t, printed(nil, nil))
	assert.Equal(t, "lbf·in", s.UnitFor(record.FeaturePreloadTotal))
	assert.Equal(t, "kgf·m", s.UnitFor(record.FeatureCapBolts))
	assert.Equal(t, "N·m", s.UnitFor(record.FeatureWheelBolts))
	s.Windows[0].Rule = analysis.RuleAnyInside
	assert.Equal(t, analysis.RuleAnyInside, s.Window(record.FeaturePreloadTotal).Rule)
	assert.Equal(t, analysis.RuleAllInside, s.Window(record.FeatureOilFill).Rule)
}

func TestWhatTheSheetLeavesOut(t *testing.T) {
	settle, test := LeakDown{}.Times()
	assert.Equal(t, [2]float64{120, 600}, [2]float64{settle, test})
	settle, test = LeakDown{SettleMin: 1, TestMin: 5}.Times()
	assert.Equal(t, [2]float64{60, 300}, [2]float64{settle, test})
	with, without := true, false
	assert.Equal(t, "running torque", Preload{}.Words())
	assert.Equal(t, "starting torque, with the seal", Preload{Kind: "starting", WithSeal: &with}.Words())
	assert.Equal(t, "running torque, without the seal", Preload{WithSeal: &without}.Words())
	assert.Equal(t, []string{record.StageAsFound, record.StageBench, record.StageSetUp, record.StageCaps, record.StageFinal}, Sheet{}.StageList())
	assert.Equal(t, []string{"wash"}, Sheet{Stages: []string{"wash"}}.StageList())
}
