package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// TestAmounts: a length and a leak rate show more than a coarse gauge counts in.
func TestAmounts(t *testing.T) {
	for _, tt := range []struct {
		name     string
		v        float64
		decimals int
		want     string
	}{
		{record.FeatureBacklash, 0.18, 2, "0.180 mm"},
		{record.FeatureBacklash, 0.18, 4, "0.1800 mm"},
		{record.FeatureLeakDown, 1.234, 0, "1.23 kPa/min"},
		{record.FeatureLeakDown, 1.234, 3, "1.234 kPa/min"},
		{record.FeatureWheelBolts, 98, 0, "98 N·m"},
		{record.FeaturePatternDrive, 0.25, 2, "0.25"},
		{record.FeatureBacklash, nan, 2, "no value"},
	} {
		assert.Equal(t, tt.want, table[tt.name].Amount(tt.v, tt.decimals))
	}
	assert.Equal(t, "0.1234 mm", Setup{Of: table[record.FeatureBacklash]}.plainAmount(0.12341))
	assert.Equal(t, []int{3, 1, 1, 2, 2}, []int{
		table[record.FeatureBacklash].Decimals(), table[record.FeatureCapBolts].Decimals(), table[record.FeatureLeakDown].Decimals(),
		table[record.FeatureOilFill].Decimals(), table[record.FeatureEngagement].Decimals(),
	})
}

// TestWithDoubt: both to the second significant digit of twice u.
func TestWithDoubt(t *testing.T) {
	f := table[record.FeatureBacklash]
	assert.Equal(t, "0.1800 ± 0.0040 mm", f.WithDoubt(record.Capture{Value: 0.18, U: 0.002}, 3))
	assert.Equal(t, "0.18 ± 0.13 mm", f.WithDoubt(record.Capture{Value: 0.18, U: 0.065}, 3))
	assert.Equal(t, "0.180 mm", f.WithDoubt(record.Capture{Value: 0.18, U: 0}, 3))
	assert.Equal(t, "0.180 mm", f.WithDoubt(record.Capture{Value: 0.18, U: nan}, 3))
}

func TestDigits(t *testing.T) {
	for v, want := range map[float64]int{0.01: 2, 0.0005: 4, 5: 0, 0.12: 2, 1e-9: 6} {
		assert.Equal(t, want, DecimalsOf(v), "%g", v)
	}
	assert.Equal(t, 0.01, lastDigit(6.88))
	assert.Equal(t, 1.0, lastDigit(690))
	assert.Equal(t, 1.0, lastDigit(math.NaN()))
}

func TestSmallWords(t *testing.T) {
	assert.Equal(t, "", Capitalise(""))
	assert.Equal(t, "Turn", Capitalise("turn"))
	assert.Equal(t, []string{"no times", "once", "six times", "7 times", "-1 times"}, []string{times(0), times(1), times(6), times(7), times(-1)})
	assert.Equal(t, "position 4, 135 degrees", AtAngle(record.Position{Index: 4, AngleDeg: 135}))
	assert.Equal(t, "position 4, 135 degrees (tooth 17)", AtAngle(record.Position{Index: 4, AngleDeg: 135, Tooth: 17}))
	assert.Equal(t, "cycle 2", AtAngle(record.Position{Index: 2, AngleDeg: nan, Label: "cycle 2"}))
}

// TestTurnsOfThePinion: where the places go by them, the way is told in turns.
func TestTurnsOfThePinion(t *testing.T) {
	s := Setup{Sheet: sheet.Example(), Of: table[record.FeatureBacklash]}
	s.Sheet.Positions = 0
	s.Positions = Positions(s.Sheet, record.FeatureBacklash)
	visits := s.Of.VisitsOf(s.Sheet, s.Positions)
	for _, tt := range []struct {
		from, to int
		want     string
	}{
		{0, 0, "turn to position 1, 0 degrees (tooth 1)"},
		{0, 1, "turn the pinion one whole turn, to position 2 (tooth 12)"},
		{1, 3, "turn the pinion 2 whole turns, to position 4 (tooth 34)"},
		{3, 2, "turn the pinion back one whole turn, to position 3 (tooth 23)"},
		{3, 0, "turn the pinion back 3 whole turns, to position 1 (tooth 1)"},
	} {
		assert.Equal(t, tt.want, s.turnTo(visits[tt.from], visits[tt.to]))
	}
	s.Sheet.GearSet.PinionTeeth, s.Sheet.GearSet.WheelTeeth = 14, 41
	s.Positions = Positions(s.Sheet, record.FeatureBacklash)
	visits = s.Of.VisitsOf(s.Sheet, s.Positions)
	assert.Equal(t, "turn the pinion half a turn, to position 2 (tooth 8)", s.turnTo(visits[0], visits[1]))
	assert.Equal(t, "turn the pinion back one whole turn, to position 1 (tooth 1)", s.turnTo(visits[2], visits[0]))
	assert.Equal(t, "turn the pinion 1.5 turns, to position 4 (tooth 22)", s.turnTo(visits[0], visits[3]))
}

// TestInManual: 98 N·m are 72.3 lbf·ft (NIST SP 811, B.8: 1.355818 N·m).
func TestInManual(t *testing.T) {
	s := Setup{Sheet: sheet.Example(), Of: table[record.FeatureWheelBolts]}
	assert.Equal(t, "98.0 N·m", s.InManual(98, 1))
	assert.Equal(t, "N·m", s.TypedUnit())
	s.Sheet.Bolts[0].Unit = "lbf·ft"
	assert.Equal(t, "72.3 lbf·ft (98.0 N·m)", s.InManual(98, 1))
	assert.Equal(t, "lbf·ft", s.TypedUnit())
	s.Unit = "kgf·m"
	assert.Equal(t, "lbf·ft", s.TypedUnit(), "of a gauge")
	s.Keyed = true
	assert.Equal(t, "kgf·m", s.TypedUnit())
}

func TestTable(t *testing.T) {
	_, ok := Find("colour")
	assert.False(t, ok)
	f, ok := Find(record.FeatureOilFill)
	require.True(t, ok)
	assert.Equal(t, f.Caution, Caution(record.FeatureOilFill))
	assert.Equal(t, "Type the litres of oil fill.", newStand(record.FeatureOilFill, func(*Setup) {}, false).Ask(At{}))

	s := sheet.Example()
	require.NoError(t, Lacks(s, record.FeatureWheelBolts))
	s.Bolts = nil
	require.EqualError(t, Lacks(s, record.FeatureWheelBolts), `job.toml lists no crown wheel bolts: add a [[bolts]] table with feature "bolt-torque-crown-wheel"`)
	for _, name := range []string{record.FeatureBacklash, record.FeatureLeakDown, "colour"} {
		require.NoError(t, Lacks(s, name))
	}
	for _, tt := range []struct {
		name, unit string
		want       bool
	}{
		{record.FeatureBacklash, "in", true}, {record.FeatureBacklash, "", true}, {record.FeatureBacklash, "N·m", false},
		{record.FeatureLeakDown, "bar", true}, {record.FeatureLeakDown, "kPa/min", false},
		{record.FeatureOilFill, "L", false}, {record.FeatureEngagement, "s", false}, {"colour", "", false},
	} {
		assert.Equal(t, tt.want, ReadIn(tt.name, tt.unit), "%s in %s", tt.name, tt.unit)
	}
}

// TestWaysOfMeasuring: what a gauge sends, what is typed, and one steady turn.
func TestWaysOfMeasuring(t *testing.T) {
	leak, face := table[record.FeatureLeakDown], table[record.FeatureRunoutBackFace]
	assert.Equal(t, "kPa", leak.AsRead(false).Unit)
	assert.Equal(t, "pressure", leak.AsRead(false).Quantity)
	assert.Equal(t, "kPa/min", leak.AsRead(true).Unit, "typed as a rate")
	assert.Equal(t, "mm", face.AsRead(false).Unit)
	assert.True(t, leak.AsTyped(true))
	assert.False(t, leak.AsTyped(false))
	assert.True(t, table[record.FeatureEngagement].AsTyped(false), "no gauge can")
	assert.IsType(t, &levels{}, face.NewMeasurer(Setup{Of: face}, false).(keyable).Measurer)
	assert.IsType(t, &turn{}, face.NewMeasurer(Setup{Of: face}, true).(keyable).Measurer.(gathering).gatherer)
	assert.IsType(t, &entry{}, face.NewMeasurer(Setup{Of: face, Keyed: true}, true))
	assert.IsType(t, &rocks{}, table[record.FeatureBacklash].NewMeasurer(Setup{}, true).(keyable).Measurer, "it has no such way")
}
