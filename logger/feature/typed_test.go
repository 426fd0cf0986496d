package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestAirTestWithAPlainGauge(t *testing.T) {
	// 2 kPa in 10 min; 0.02 bar in 10 min; 1 psi (6.894757 kPa, NIST SP 811)
	// in half an hour.
	for _, tt := range []struct {
		lines []string
		want  float64
		note  string
	}{
		{[]string{"690 688 kPa 10 min"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"10 min 690 kPa 688 kPa"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"6.9 bar", "6.88", "10"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"100 psi", "99 psi", "1800 s"}, 6.894757 / 30, "in 30 min"},
		{[]string{"690 kPa 20 C 688 kPa 20 C 10 min"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"0.2 kPa/min"}, 0.2, ""},
	} {
		p := newHand(record.FeatureLeakDown, 1, func(s *Setup) { s.Keyed = true }, false)
		for _, line := range tt.lines {
			p.typeLine(t, line)
		}
		require.True(t, p.at.Done, "%q: %s", tt.lines, p.shown)
		c := p.taken[0]
		assert.InDelta(t, tt.want, c.Value, 1e-5, tt.lines)
		assert.Contains(t, c.Note, tt.note)
	}
}

func TestAirTestAsksWhatABareNumberIs(t *testing.T) {
	p := newHand(record.FeatureLeakDown, 1, func(s *Setup) { s.Keyed = true }, false)
	assert.Contains(t, p.ask(), "with its unit")
	p.typeLine(t, "690")
	assert.Empty(t, p.taken)
	assert.Contains(t, p.shown, "690 of what?")
	p.typeLine(t, "690 kPa")
	assert.Empty(t, p.shown)
	assert.Contains(t, p.ask(), "Settling: 120 s to go")
	p.typeLine(t, "688")
	assert.Contains(t, p.ask(), "minutes")
	p.typeLine(t, "0")
	assert.Contains(t, p.shown, "no time")
	p.typeLine(t, "10")
	require.Len(t, p.taken, 1)
	assert.InDelta(t, 0.3144, p.taken[0].U, 1e-4, "two readings to the last digit, and 2 °C that nobody saw")
	p.enter(0) // undone
	p.typeLine(t, "10 min")
	assert.Len(t, p.taken, 1, "an undone test begins anew")

	live := newHand(record.FeatureLeakDown, 1, func(*Setup) {}, false)
	live.key(688, "")
	assert.Empty(t, live.taken)
	assert.Contains(t, live.shown, "unit")
}

func TestParseTypedSaysWhatIsWanted(t *testing.T) {
	for _, tt := range []struct{ feature, line, want string }{
		{record.FeatureBacklash, "soft", "not one value: want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div"},
		{record.FeatureCapBolts, "soft", "not one value: want a torque such as 95, 70 lbf ft or 9.7 kgf m"},
		{record.FeaturePreloadPinion, "2 furlong", `unit "furlong" is not known: want a torque such as 1.5, 13 kgf cm, 12 lbf in or 40 N x 35 mm`},
		{record.FeatureOilFill, "two", "not one value: want a volume such as 1.9, 1900 ml or 2 qt (US)"},
		{record.FeatureEngagement, "no", "which of them failed is not said: want yes, yes 0.6 s, no lock or no free"},
		{record.FeatureEngagement, "yes 3 mm", "not a time: want yes, yes 0.6 s, no lock or no free"},
		{record.FeatureLeakDown, "690 furlong 3", `"690 furlong" is unit "furlong" is not known: want the pressure, the pressure later, their unit and the minutes between, as START END kPa MINUTES min`},
		{record.FeatureLeakDown, "1 2 3 4 5 6", "6 values: want the pressure, the pressure later, their unit and the minutes between, as START END kPa MINUTES min"},
		{record.FeatureCapBolts, "3 div", "the size of a division is not known: want a torque such as 95, 70 lbf ft or 9.7 kgf m"},
	} {
		_, err := ParseTyped(tt.feature, tt.line, 0.01)
		assert.EqualError(t, err, tt.want)
	}
}

func TestTypedUnits(t *testing.T) {
	// 60 lbf·ft = 81.349 N·m, 12 lbf·in = 1.35582 N·m, 13 kgf·cm = 1.27486 N·m,
	// a US quart 0.946353 L: NIST SP 811 (2008), appendix B.8.
	for _, tt := range []struct {
		feature, line string
		want          float64
	}{
		{record.FeatureCapBolts, "60 ft lbs", 81.34908},
		{record.FeaturePreloadTotal, "12 lbf in", 1.355818},
		{record.FeaturePreloadTotal, "13 kgf cm", 1.274865},
		{record.FeatureOilFill, "2.1 L", 2.1},
		{record.FeatureOilFill, "1900 ml", 1.9},
		{record.FeatureOilFill, "2 qt", 1.892706},
	} {
		s := sheet.Example()
		for i := range s.Bolts {
			s.Bolts[i].Unit, s.Bolts[i].Target, s.Bolts[i].PassesPct = "N·m", 80, []int{100}
		}
		p := newHand(tt.feature, 1, func(x *Setup) { x.Sheet = s; x.Keyed = true }, false)
		p.typeLine(t, tt.line)
		require.Len(t, p.taken, 1, "%s: %s", tt.line, p.shown)
		assert.InDelta(t, tt.want, p.taken[0].Value, 1e-5, tt.line)
	}
}

func TestAbsurdValueIsAskedOnce(t *testing.T) {
	p := newHand(record.FeatureBacklash, 1, func(s *Setup) { s.Keyed = true }, false)
	p.typeLine(t, "0.9")
	assert.Empty(t, p.taken)
	assert.Contains(t, p.shown, "0.9 mm is 4.5 times the limit of 0.2 mm")
	assert.Equal(t, 1, p.rings)
	p.typeLine(t, "0.09")
	require.Len(t, p.taken, 1, "another value is the answer no")
	assert.Equal(t, 1, p.taken[0].Position)
	p.typeLine(t, "0.9")
	p.typeLine(t, "0.9")
	require.Len(t, p.taken, 2)
	assert.Equal(t, 0.9, p.taken[1].Value)
}

func TestAbsurdTorqueIsAskedAndOverTorqueRings(t *testing.T) {
	s := sheet.Example()
	for i := range s.Bolts {
		s.Bolts[i].Unit, s.Bolts[i].Target, s.Bolts[i].PassesPct, s.Bolts[i].TolerancePct = "N·m", 68, []int{100}, 10
	}
	p := newHand(record.FeatureCapBolts, 1, func(x *Setup) { x.Sheet = s; x.Keyed = true }, false)
	p.typeLine(t, "900")
	assert.Empty(t, p.taken)
	assert.Contains(t, p.shown, "13.2 times the target of 68 N·m")
	p.typeLine(t, "80")
	require.Len(t, p.taken, 1)
	assert.Equal(t, 2, p.rings)
	assert.Contains(t, p.shown, "over its 68")
	p.typeLine(t, "68")
	assert.Equal(t, 2, p.rings)
}

func TestAbsurdRunoutLevelIsAsked(t *testing.T) {
	p := newHand(record.FeatureRunoutBackFace, 1, func(s *Setup) { s.Keyed = true }, false)
	p.typeLine(t, "2.1")
	assert.Empty(t, p.taken, "it may be the oil's")
	assert.Contains(t, p.shown, "2.1 mm is more than a dial shows that is pressed in by 1 mm")
	p.typeLine(t, "2.1")
	p.typeLine(t, "2.12")
	require.Len(t, p.taken, 2, "levels may be anywhere")
	p.typeLine(t, "0.213")
	assert.Len(t, p.taken, 2)
	assert.Contains(t, p.shown, "from the other places")
}

// TestFigureOfAnotherStepIsAsked: of a step that the sheet has no window for too.
func TestFigureOfAnotherStepIsAsked(t *testing.T) {
	for name, line := range map[string]string{
		record.FeatureOilFill: "0.16", record.FeaturePreloadPinion: "98", record.FeaturePreloadTotal: "0.02",
	} {
		p := newHand(name, 1, func(s *Setup) { s.Keyed = true }, false)
		p.typeLine(t, line)
		assert.Empty(t, p.taken, name)
		assert.Contains(t, p.shown, "not usual", name)
		p.typeLine(t, line)
		assert.Len(t, p.taken, 1, name)
	}
}

// TestParseTyped: what a line is taken for.
func TestParseTyped(t *testing.T) {
	locked, freed := frame.KeyedValue{Value: 1, Unit: tryFreed}, frame.KeyedValue{Unit: tryFreed}
	for _, tt := range []struct {
		feature, line string
		want          []frame.KeyedValue
	}{
		{record.FeatureBacklash, "0,18 mm", []frame.KeyedValue{{Value: 0.18, Unit: "mm"}}},
		{record.FeatureBacklash, "3 1/2 div", []frame.KeyedValue{{Value: 0.035, Unit: "mm"}}},
		{record.FeatureEngagement, " YES ", []frame.KeyedValue{locked}},
		{record.FeatureEngagement, "y", []frame.KeyedValue{locked}},
		{record.FeatureEngagement, "no lock", []frame.KeyedValue{{Unit: tryLocked}}},
		{record.FeatureEngagement, "did not free", []frame.KeyedValue{freed}},
		{record.FeatureEngagement, "yes 0.6", []frame.KeyedValue{{Value: 0.6, Unit: "s"}}},
		{record.FeatureEngagement, "0", []frame.KeyedValue{{Value: 0, Unit: "s"}}},
		{record.FeatureLeakDown, "690 688 kPa 10 min", []frame.KeyedValue{{Value: 690, Unit: "kPa"}, {Value: 688, Unit: "kPa"}, {Value: 10, Unit: "min"}}},
		{record.FeatureLeakDown, "10 min 690 kPa 688 kPa", []frame.KeyedValue{{Value: 690, Unit: "kPa"}, {Value: 688, Unit: "kPa"}, {Value: 10, Unit: "min"}}},
		{record.FeatureLeakDown, "6.9 bar 20 C 6.88 bar 21 C 10 min", []frame.KeyedValue{
			{Value: 6.9, Unit: "bar"}, {Value: 20, Unit: "°C"}, {Value: 6.88, Unit: "bar"}, {Value: 21, Unit: "°C"}, {Value: 10, Unit: "min"}}},
	} {
		got, err := ParseTyped(tt.feature, tt.line, 0.01)
		require.NoError(t, err, tt.line)
		require.Len(t, got, len(tt.want), tt.line)
		for i, w := range tt.want {
			assert.InDelta(t, w.Value, got[i].Value, 1e-12, tt.line)
			assert.Equal(t, w.Unit, got[i].Unit, tt.line)
		}
	}
	for _, line := range []string{"n", "-1", "yes -0.5 s", "maybe"} {
		_, err := ParseTyped(record.FeatureEngagement, line, 0)
		assert.Error(t, err, line)
	}
}

func TestTypedAirRefuses(t *testing.T) {
	for _, tt := range []struct {
		lines []string
		want  string
	}{
		{[]string{"690"}, "690 of what? Type the pressure with its unit: 690 kPa, bar or psi."},
		{[]string{"0 kPa"}, "0 kPa is no pressure to begin with."},
		{[]string{"690 kPa", "688", "687 kPa"}, "Both pressures are there: type the minutes between them."},
		{[]string{"0 min"}, "0 min is no time between two readings."},
		{[]string{"20 C", "21 C", "22 C"}, `Unit "°C": want kPa, bar or psi, and min.`},
		{[]string{"3 mm"}, `Unit "mm": want kPa, bar or psi, and min.`},
	} {
		h := newHand(record.FeatureLeakDown, 1, func(s *Setup) { s.Keyed = true }, false)
		for _, line := range tt.lines {
			h.typeLine(t, line)
		}
		assert.Equal(t, tt.want, h.shown, "%q", tt.lines)
		assert.Empty(t, h.taken)
	}
	h := newHand(record.FeatureLeakDown, 1, func(s *Setup) { s.Keyed = true }, false)
	h.accept()
	assert.Equal(t, "Type the pressure, the pressure later and the minutes between.", h.shown)
}

// TestTypedAirByTemperature: 293.15 K to 294.15 K lifts 791.325 kPa (690 of them
// over the air) by 2.699 kPa, so that a gauge that stands still has lost them.
func TestTypedAirByTemperature(t *testing.T) {
	h := newHand(record.FeatureLeakDown, 1, func(s *Setup) { s.Keyed, s.Resolution = true, 0.5 }, false)
	h.typeLine(t, "690 kPa 20.0 C 690.0 kPa 21.0 C 10 min")
	require.Len(t, h.taken, 1, h.shown)
	assert.InDelta(t, 791.325*(1-293.15/294.15)/10, h.taken[0].Value, 0.005)
	assert.Equal(t, 690.0, h.taken[0].Low)
	assert.Equal(t, 690.0, h.taken[0].High)
	assert.GreaterOrEqual(t, h.taken[0].U, 0.5/math.Sqrt(12)*math.Sqrt2/10, "the coarser of gauge and digits")
}

func TestTries(t *testing.T) {
	h := newHand(record.FeatureEngagement, 1, func(s *Setup) { s.Sheet.Engagement.Cycles = 4 }, false)
	assert.Contains(t, h.ask(), "(cycle 1 of 4). Did it lock and free? Press y")
	h.accept()
	assert.Equal(t, "Say how it went: yes, no lock or no free.", h.shown)
	h.key(-1, "s")
	assert.Equal(t, "-1 is negative: engagement of the lock cannot be.", h.shown)
	h.key(1, "mm")
	assert.Contains(t, h.shown, `Unit "mm"`)
	require.Empty(t, h.taken)
	effects := newHand(record.FeatureEngagement, 1, func(*Setup) {}, false).key(0, "s")
	assert.IsType(t, Captured{}, effects[0], "in no time at all")
	h.typeLine(t, "yes 0.65")
	h.typeLine(t, "yes")
	h.typeLine(t, "no lock")
	assert.Equal(t, "Cycle 3: it did not lock. That is on record; look for air, wiring and travel before going on.", h.shown)
	h.typeLine(t, "no free")
	assert.Equal(t, "Cycle 4: it did not free. That is on record; look for the return spring and load on the dogs before going on.", h.shown)
	require.Len(t, h.taken, 4)
	assert.Equal(t, 1, h.taken[0].N)
	assert.Equal(t, "keyed", h.taken[0].Gauge)
	assertTimes(t, 0, h.taken[0].Time)
	// A tenth of a second of the hand, and a count of 0.01 s.
	assert.InDelta(t, math.Hypot(0.1, 0.01/math.Sqrt(12)), h.taken[0].U, 1e-9)
	var words []string
	for _, c := range h.taken {
		c.Feature = record.FeatureEngagement
		words = append(words, TryWord(c), table[record.FeatureEngagement].Word(c))
	}
	assert.Equal(t, []string{"yes", "", "yes", "locked and freed", "no", "did not lock", "no", "locked"}, words)
	assert.Empty(t, TryWord(record.Capture{Feature: record.FeatureBacklash, Quality: qualityNoLock}))
}

// TestTypedUncertainty: half a count either way for each reading behind a value,
// and of a length the gauge's permissible error, 0.003 mm here.
func TestTypedUncertainty(t *testing.T) {
	mpe := 0.003 / math.Sqrt(3)
	for name, want := range map[string]float64{
		record.FeatureRunoutBackFace: math.Hypot(0.01/math.Sqrt(12), mpe),
		record.FeatureOilFill:        0.01 / math.Sqrt(12),
	} {
		h := newHand(name, 1, func(s *Setup) { s.Keyed, s.Resolution = true, 0.01 }, false)
		h.typeLine(t, "1.02")
		require.Len(t, h.taken, 1)
		assert.InDelta(t, want, h.taken[0].U, 1e-12, name)
		assert.Equal(t, 1, h.taken[0].N)
	}
	s := Setup{Of: table[record.FeatureBacklash], Resolution: 0.01}
	assert.InDelta(t, 0.01/math.Sqrt(12)*math.Sqrt2, s.uncertainty(0.2), 1e-12, "a difference of two readings")
	assert.True(t, math.IsNaN(Setup{Of: table[record.FeatureOilFill]}.uncertainty(2)), "nothing is known")
}

func TestPlacesOnATooth(t *testing.T) {
	h := newHand(record.FeaturePatternDrive, 1, func(s *Setup) { s.Keyed = true }, false)
	assert.Equal(t, "Where does the contact lie along the tooth? -1 toe, 0 middle, +1 heel.", h.ask())
	for _, v := range []float64{-1.01, 1.01} {
		h.key(v, "")
		assert.Contains(t, h.shown, "is off the tooth: want -1 to +1.")
	}
	require.Empty(t, h.taken)
	h.key(-1, "")
	assert.Equal(t, "Where does it lie up the tooth? -1 root, 0 middle, +1 face.", h.ask())
	h.key(1, "")
	require.Len(t, h.taken, 2)
}

func TestNothingIsAValue(t *testing.T) {
	h := newHand(record.FeatureOilFill, 1, func(s *Setup) { s.Keyed = true }, false)
	h.key(0, "")
	assert.Empty(t, h.taken, "asked for once more")
	h.key(0, "")
	require.Len(t, h.taken, 1)
	assert.Zero(t, h.taken[0].Value)
	h = newHand(record.FeatureOilFill, 1, func(s *Setup) { s.Keyed = true }, false)
	h.key(-0.1, "")
	assert.Equal(t, "-0.1 is negative: oil fill cannot be.", h.shown)
	h.accept()
	assert.Equal(t, "Type the value.", h.shown)
}
