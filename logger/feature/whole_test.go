package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/logger/record"
)

func turningHand(change func(s *Setup)) *hand {
	h := newHand(record.FeaturePreloadTotal, 1, change, false)
	h.rate, h.digit, h.noise = 100, 0.01, 0
	return h
}

// TestTurning: the torque of four seconds or more of turning, from the start to
// letting go.
func TestTurning(t *testing.T) {
	h := turningHand(func(s *Setup) { s.Resolution = 0.01 })
	assert.Equal(t, "Turn the pinion steadily, one turn in one or two seconds, then let go. The seal is not fitted yet.", h.ask())
	h.hold(0, 0.5)
	assert.True(t, math.IsNaN(h.Progress().Estimate))
	for i := range 450 {
		h.put(2.1 + 0.1*math.Sin(2*math.Pi*float64(i)/150))
	}
	assert.InDelta(t, 2.1, h.Progress().Estimate, 0.1)
	assert.Empty(t, h.taken, "still turning")
	h.hold(0, 0.4)
	assert.Empty(t, h.taken, "not let go for long enough")
	h.hold(0, 0.3)
	require.Len(t, h.taken, 1)
	c := h.taken[0]
	assert.InDelta(t, 2.1, c.Value, 0.02)
	assert.InDelta(t, 2.0, c.Low, 0.03)
	assert.InDelta(t, 2.2, c.High, 0.03)
	assert.Equal(t, record.QualityOK, c.Quality)
	assert.Contains(t, c.Note, "running torque, without the seal")
	h.hold(2, 5)
	assert.Len(t, h.taken, 1, "it is stored")
}

func TestTurningTooShort(t *testing.T) {
	h := turningHand(func(*Setup) {})
	h.accept()
	assert.Equal(t, "No torque yet.", h.shown)
	h.hold(2, 3.8)
	h.hold(0, 1)
	assert.Empty(t, h.taken)
	assert.Contains(t, h.shown, "too short")
	h.hold(0.04, 6) // less than 0.05 N·m is no turning
	h.hold(0, 1)
	assert.Empty(t, h.taken)
	h.hold(2, 4.5)
	h.accept()
	assert.Len(t, h.taken, 1, "by command, before letting go")
}

// TestStartingTorque: where the manual means that, it has to stand out.
func TestStartingTorque(t *testing.T) {
	h := turningHand(func(s *Setup) { s.Sheet.Preload.Kind = "starting" })
	h.hold(2, 5)
	h.hold(0, 1)
	assert.Empty(t, h.taken)
	assert.Equal(t, "The manual means the starting torque, and none stood out: start from rest.", h.shown)
	h.hold(0, 0.5)
	h.hold(3.1, 0.05)
	h.hold(2, 5)
	h.hold(0, 1)
	require.Len(t, h.taken, 1, h.shown)
	assert.InDelta(t, 3.1, h.taken[0].Value, 0.01)
}

func TestPressedPreload(t *testing.T) {
	h := turningHand(func(s *Setup) { s.Resolution = 0.01 })
	h.press(-2.1)
	require.Len(t, h.taken, 1)
	assert.Equal(t, 2.1, h.taken[0].Value, "whichever way it was turned")
	// 1 % of 2.1 N·m and a step of 0.01, both rectangular (JCGM 100:2008, 4.3.7).
	assert.InDelta(t, math.Hypot(0.021/math.Sqrt(3), 0.01/math.Sqrt(12)), h.taken[0].U, 1e-9)
}

// TestTypedPreload: what the sheet says of its tool is its uncertainty.
func TestTypedPreload(t *testing.T) {
	for pct, want := range map[float64]float64{0: math.NaN(), 4: math.Hypot(2.1*0.04/math.Sqrt(3), 0.01/math.Sqrt(12))} {
		h := turningHand(func(s *Setup) { s.Keyed, s.Resolution, s.Sheet.Preload.ToolMPEPct = true, 0.01, pct })
		assert.Equal(t, "Type total preload in N·m, or pull and radius of a spring scale: 40 N x 35 mm.", h.ask())
		h.typeLine(t, "2.1")
		require.Len(t, h.taken, 1)
		assertNumber(t, want, h.taken[0].U)
	}
}

// air is an air test at one reading a second: two minutes of settling, ten of test.
func air(change func(s *Setup)) *hand {
	h := newHand(record.FeatureLeakDown, 1, change, false)
	h.rate, h.digit, h.noise = 1, 0.1, 0
	return h
}

func TestAirTest(t *testing.T) {
	h := air(func(s *Setup) { s.Resolution = 0.1 })
	assert.Equal(t, "Fill the line to 690 kPa, never above 830 kPa, shut it off and do not touch it.", h.ask())
	fall := func(minutes float64) {
		for range int(minutes * 60) {
			h.put(700 - 1.2*h.now/60)
		}
	}
	fall(1)
	assert.Equal(t, "Settling: 61 s to go. Do not touch the line.", h.ask())
	h.accept()
	assert.Equal(t, "The pressure is still settling.", h.shown)
	fall(5)
	assert.Equal(t, "Air test: 361 s to go. Do not touch the line.", h.ask())
	assert.InDelta(t, 1.2, h.Progress().Estimate, 0.05)
	fall(6.1)
	require.Len(t, h.taken, 1, h.shown)
	c := h.taken[0]
	assert.InDelta(t, 1.2, c.Value, 0.01)
	assert.InDelta(t, 700-1.2*12, c.Low, 0.15)
	assert.InDelta(t, 700-1.2*2, c.High, 0.15)
	assert.Contains(t, c.Note, "drop 12.0")
}

// TestAirTestEndsWithItsInput: what there is of it counts.
func TestAirTestEndsWithItsInput(t *testing.T) {
	h := air(func(s *Setup) { s.Resolution = 0.1 })
	h.step(Input{Kind: End})
	assert.Equal(t, "The pressure is still settling. The test starts anew.", h.shown)
	for range 8 * 60 {
		h.put(700 - 1.2*h.now/60)
	}
	h.step(Input{Kind: End})
	require.Len(t, h.taken, 1)
	assert.InDelta(t, 1.2, h.taken[0].Value, 0.03)
}

// TestAirTestAsWritten: without a profile the last digit written is the step.
func TestAirTestAsWritten(t *testing.T) {
	h := air(func(*Setup) {})
	m := h.Measurer.(keyable).Measurer.(gathering).gatherer.(*airTest)
	m.unit = "bar"
	assert.InDelta(t, 1, m.step(At{Digits: 2}), 1e-12, "0.01 bar")
	assert.Zero(t, m.step(At{Digits: -1}))
	m.Resolution = 0.5
	assert.Equal(t, 0.5, m.step(At{Digits: 2}))
}

func TestSpaced(t *testing.T) {
	h := air(func(s *Setup) { s.Resolution = 0.1 })
	m := h.Measurer.(keyable).Measurer.(gathering).gatherer.(*airTest)
	h.rate = 100
	for range 2 * leakSamples {
		h.put(700 - 0.2*h.now/60)
	}
	assert.Equal(t, 2, m.every)
	assert.Less(t, len(m.samples), leakSamples)
	assert.Greater(t, len(m.samples), leakSamples/2)
}

// TestTurn: one steady turn gives the whole movement at once.
func TestTurn(t *testing.T) {
	h := newHand(record.FeatureRunoutBackFace, 1, func(s *Setup) { s.HandsOff = false }, true)
	assert.Contains(t, h.ask(), "Turn the wheel steadily one way")
	h.accept()
	assert.Equal(t, "No reading yet.", h.shown)
	around := func(turns float64) {
		for range int(turns * 24 * h.rate) {
			h.put(0.02 * math.Cos(2*math.Pi*h.now/24))
		}
	}
	around(0.8)
	h.accept()
	assert.Empty(t, h.taken)
	assert.NotEmpty(t, h.shown)
	assert.InDelta(t, 0.04, h.Progress().Estimate, 0.005)
	around(1.4)
	h.accept()
	require.Len(t, h.taken, 1, h.shown)
	assert.InDelta(t, 0.04, h.taken[0].Value, 0.004)
	assert.Equal(t, 2, h.taken[0].N)
	assert.InDelta(t, -0.02, h.taken[0].Low, 0.004)
	assert.InDelta(t, 0.02, h.taken[0].High, 0.004)
	assert.Contains(t, h.taken[0].Note, "once a turn 0.0")
	assert.Zero(t, h.taken[0].Position)
	assert.True(t, h.at.Done)
}

func TestPressedLevels(t *testing.T) {
	levels := []float64{0, 0.02, 0.02, 0.03, 0.02, 0.01, -0.01, 0}
	h := newHand(record.FeatureRunoutBackFace, 1, func(*Setup) {}, false)
	h.press(levels...)
	require.Len(t, h.taken, 8)
	for i, c := range h.taken {
		assert.Equal(t, i+1, c.Position)
		assert.Equal(t, levels[i], c.Value)
		assert.Equal(t, 1, c.N)
	}
	h = newHand(record.FeatureRunoutBackFace, 1, func(s *Setup) { s.HandsOff = false }, false)
	h.press(0.01, 0.02)
	assert.Empty(t, h.taken, "the command takes it")
	assert.Equal(t, "Turn to position 1, 0 degrees (tooth 1) and press space.", h.ask())
	h.accept()
	require.Len(t, h.taken, 1)
	assert.Equal(t, 0.02, h.taken[0].Value)
	assert.Equal(t, "Stored. Turn on to position 2, 45 degrees (tooth 6) and press space.", h.ask())
}

// TestCoarseGaugeIsSaidBefore: 3.92 standard uncertainties are the least window.
func TestCoarseGaugeIsSaidBefore(t *testing.T) {
	s := Setup{Sheet: newStand(record.FeatureBacklash, func(*Setup) {}, false).sheet, Of: table[record.FeatureBacklash], Resolution: 0.001}
	s.Spec = s.Sheet.Window(record.FeatureBacklash)
	assert.Empty(t, s.Undecidable())
	// A rectangular error of 0.003 mm and two half counts: 0.00178 mm, 3.92 of which are 0.0070.
	s.Spec.Limits.Upper = s.Spec.Limits.Lower + 0.0071
	assert.Empty(t, s.Undecidable())
	s.Spec.Limits.Upper = s.Spec.Limits.Lower + 0.0068
	assert.Contains(t, s.Undecidable(), "It is 3.8 times as wide as the uncertainty; 3.92 times is needed")
	s.Spec.Limits.Upper = s.Spec.Limits.Lower + 0.001
	assert.NotEmpty(t, s.Undecidable())
	s.Resolution = 0
	assert.Empty(t, s.Undecidable(), "nothing is known of it")
	s.Resolution, s.Of = 0.01, table[record.FeaturePreloadTotal]
	assert.Empty(t, s.Undecidable(), "of a torque the tool decides")
	s.Of = table[record.FeatureBacklash]
	s.Resolution, s.Spec = 0.001, analysis.RoundSpec{}
	s.Spec.Limits.Lower, s.Spec.Limits.Upper = math.NaN(), math.NaN()
	assert.Empty(t, s.Undecidable(), "nothing to decide")
}
