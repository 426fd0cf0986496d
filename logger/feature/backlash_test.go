package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/motion"
	"crownlog/analysis/rocking"
	"crownlog/logger/record"
)

// rockByHand rocks between two stops as a hand does: rests of half a second to
// two, pushes a little harder or softer, and fumbles now and then.
func (h *hand) rockByHand(low, backlash float64, rocks int) {
	at := low
	to := func(x, seconds float64) {
		h.move(at, x, seconds)
		at = x
	}
	for range rocks {
		to(low+backlash+0.003*h.rng.Float64(), 0.15+0.35*h.rng.Float64())
		h.hold(at, 0.5+1.5*h.rng.Float64())
		if h.rng.Float64() < 0.15 {
			to(low+0.6*backlash, 0.2)
			to(low+backlash, 0.2)
			h.hold(at, 0.5+1.5*h.rng.Float64())
		}
		to(low-0.003*h.rng.Float64(), 0.15+0.35*h.rng.Float64())
		h.hold(at, 0.5+1.5*h.rng.Float64())
	}
}

// The plunger hangs free, is set on the tooth with some preload, and the wheel
// is rocked evenly from there.
func TestSettingThePlungerOnTheToothIsNoFault(t *testing.T) {
	faults, stored := 0, 0
	for seed := range uint64(40) {
		preload := 0.3 + 0.05*float64(seed%11)
		h := newHand(record.FeatureBacklash, seed, func(s *Setup) { s.Resolution = 0.01 }, false).coarse()
		h.hold(0, 3)
		h.move(0, preload, 0.5)
		h.hold(preload, 2)
		if seed%2 == 0 {
			h.rockByHand(preload, 0.17, 8)
		} else {
			h.move(preload, preload-0.17, 0.3)
			h.rockByHand(preload-0.17, 0.17, 8)
		}
		if h.faults[analysis.OffGear] > 0 {
			faults++
		}
		if len(h.taken) == 1 {
			stored++
			assert.InDelta(t, 0.17, h.taken[0].Value, 0.01, "preload %.2f", preload)
		}
	}
	assert.Equal(t, 40, stored)
	assert.LessOrEqual(t, faults, 1)
}

// TestRocksMeasure: three sound rocks are a capture, and a lift is the way on.
func TestRocksMeasure(t *testing.T) {
	h := newHand(record.FeatureBacklash, 1, func(s *Setup) { s.Resolution = 0.001 }, false)
	assert.Equal(t, "Free the pinion. Turn to position 1, 0 degrees (tooth 1). Hold the pinion. Rock three times.", h.ask())
	h.hold(0, 1)
	h.rock(0, 0.16, 2)
	assert.Empty(t, h.taken)
	assert.Contains(t, h.ask(), "more.")
	p := h.Progress()
	assert.Positive(t, p.Rocks)
	assert.Equal(t, 3, p.Wanted)
	h.rock(0, 0.16, 2)
	require.Len(t, h.taken, 1)
	c := h.taken[0]
	assert.InDelta(t, 0.16, c.Value, 0.003)
	assert.Equal(t, record.QualityOK, c.Quality)
	assert.Equal(t, 3, c.N)
	assert.InDelta(t, 0, c.Low, 0.003)
	assert.InDelta(t, 0.16, c.High, 0.003)
	assert.Equal(t, "normal", c.Convention)
	assert.Equal(t, 106.0, c.RadiusMM)
	assert.GreaterOrEqual(t, h.stops, 6)
	assert.Equal(t, 3, h.rocks)
	assert.Equal(t, "Stored. Lift the plunger, free the pinion and turn to position 2, 45 degrees (tooth 6).", h.ask())

	h.accept()
	assert.Contains(t, h.shown, "Position 1, 0 degrees (tooth 1) is stored; x measures it again.")
	require.Len(t, h.taken, 1)
	h.move(0, 3.5, 0.3)
	assert.Equal(t, 1, h.at.Index, "the lift goes on")
	h.hold(3.5, 1.5)
	h.move(3.5, 0, 0.3)
	h.rock(0, 0.17, 4)
	require.Len(t, h.taken, 2)
	assert.Equal(t, 2, h.taken[1].Position)

	// Two short lifts go back to the position they began at.
	for range 2 {
		h.move(0, 3.5, 0.1)
		h.hold(3.5, 0.2)
		h.move(3.5, 0, 0.1)
		h.hold(0, 0.3)
	}
	assert.Equal(t, 1, h.at.Index)
	assert.False(t, h.at.Captured, "to be measured again")
}

// TestLiftInTheMiddle: rocks before the plunger left the tooth do not count.
func TestLiftInTheMiddle(t *testing.T) {
	h := newHand(record.FeatureBacklash, 2, func(*Setup) {}, false)
	h.hold(0, 1)
	h.rock(0, 0.16, 2)
	h.move(0, 3.5, 0.3)
	assert.Equal(t, 1, h.faults[analysis.OffGear])
	h.hold(3.5, 1)
	h.move(3.5, 0, 0.3)
	assert.Zero(t, h.Progress().Rocks)
	h.hold(0, 0.5)
	h.rock(0, 0.16, 2)
	assert.Empty(t, h.taken)
	h.rock(0, 0.16, 2)
	assert.Len(t, h.taken, 1)
}

// TestRocksByKey wait for the command, and say so.
func TestRocksByKey(t *testing.T) {
	h := newHand(record.FeatureBacklash, 3, ways["byKey"], false)
	h.accept()
	assert.Contains(t, h.shown, "Nothing to store yet")
	h.hold(0, 1)
	h.rock(0, 0.16, 4)
	assert.Empty(t, h.taken)
	assert.Equal(t, "Enough rocks: press space.", h.ask())
	h.accept()
	require.Len(t, h.taken, 1)
	assert.Equal(t, "Stored. Press next and turn to position 2, 45 degrees (tooth 6).", h.ask())
}

// TestMoreRocks: five where they scatter by more than 0.005 mm, up to ten where
// these are likely to decide the window, three where no more would help.
func TestMoreRocks(t *testing.T) {
	m := newRocks(Setup{Resolution: 0.001})
	m.rocks, m.result.Refused = usualRocks, false
	m.result.Repeatability, m.result.StandardUncertainty = 0.005, 0.002
	m.Spec.Limits = gum.Limits{Lower: 0.1, Upper: 0.2}
	assert.Equal(t, usualRocks, m.wanted())
	m.result.Repeatability = 0.0051
	assert.Equal(t, moreRocks, m.wanted())
	m.Resolution = 0.01
	assert.Equal(t, usualRocks, m.wanted(), "a coarse dial shows 0.010 mm of it")
	m.result.Value, m.result.Repeatability = 0.15, 0.004
	m.result.StandardUncertainty = math.Hypot(0.002, 0.004/math.Sqrt(3))
	assert.Equal(t, usualRocks, m.wanted(), "far from the limits")
	m.result.Value = 0.197
	assert.Equal(t, 8, m.wanted(), "near one: five more may well decide it")
	m.result.Value = 0.2
	assert.Equal(t, usualRocks, m.wanted(), "on it: no number is likely to")
	m.result.Value, m.result.Repeatability = 0.197, 0.0003
	assert.Equal(t, usualRocks, m.wanted(), "what rocks lessen is not what keeps it open")
	m.result.Value, m.Spec.Limits.Upper = 0.104, 0.1077
	assert.Equal(t, usualRocks, m.wanted(), "nor is there room for any")
	m.Spec.Limits = gum.NoLimits("mm")
	assert.Equal(t, usualRocks, m.wanted())
	m.rocks = 2
	m.result.Repeatability = 1
	assert.Equal(t, usualRocks, m.wanted(), "too early to say")
}

// TestGaugeInInches: a value 25.4 times off what the round has shown, or else
// the window expects, is a gauge in the wrong unit.
func TestGaugeInInches(t *testing.T) {
	m := newRocks(Setup{})
	m.Spec.Limits = gum.Limits{Lower: 0.13, Upper: 0.20} // 0.165 in the middle
	for value, wrong := range map[float64]bool{0.165: false, 4.19: true, 0.165 / 25.4: true, 1.6: false, 0.165 * 25.4 / 1.6: false, 0.165 * 25.4 * 1.6: false} {
		m.result.Value = value
		assert.Equal(t, wrong, len(m.soundness(At{})) == 1, "%g", value)
		assert.False(t, len(m.soundness(At{N: 1, Mean: value})) == 1, "%g as before", value)
	}
	m.result.Value, m.result.Faults = 4.19, []analysis.Fault{analysis.UnitFlip}
	assert.Equal(t, []analysis.Fault{analysis.UnitFlip}, m.soundness(At{}), "said once")
}

func TestPressesCannotRock(t *testing.T) {
	h := newHand(record.FeatureBacklash, 4, func(*Setup) {}, false)
	h.press(0, 0.15, 0, 0.15)
	assert.Empty(t, h.taken)
	assert.Contains(t, h.shown, "sends at the press of its key")
}

// TestBacklashReadOffATiltedDial is corrected as a measured one: a plunger 30°
// off its line reads 1/cos 30° too much, from 106 to 112 mm it grows by that.
func TestBacklashReadOffATiltedDial(t *testing.T) {
	h := newHand(record.FeatureBacklash, 5, func(s *Setup) {
		s.Keyed, s.Sheet.Plunger.CosineDeg, s.Sheet.Plunger.HeelRadius = true, 30, 112
	}, false)
	h.typeLine(t, "0.16")
	require.Len(t, h.taken, 1)
	assert.InDelta(t, 0.16*math.Cos(math.Pi/6)*112/106, h.taken[0].Value, 1e-6)
	assert.Equal(t, 112.0, h.taken[0].RadiusMM)
	assert.Contains(t, h.taken[0].Note, "plunger tilted 30°")
	// What was read is doubtful by 0.003 mm of the gauge and 4.6 µm of wind-up at
	// either stop, times the same factor; the latter is a rectangle, which ends sooner.
	k := math.Cos(math.Pi/6) * 112 / 106
	variance := k * k * 0.003 * 0.003 / 3
	for _, doubt := range rocking.PlungerDoubts(h.taken[0].Value, 30, 112.0/106) {
		variance += math.Pow(doubt.Contribution(), 2)
	}
	assert.InEpsilon(t, gum.Convolved(math.Sqrt(variance), k*0.0092), gum.HalfWidthFactor*h.taken[0].U, 0.002)
	assert.InDelta(t, k*0.0092/math.Sqrt(3), h.taken[0].HandU, 1e-9)

	h = newHand(record.FeatureBacklash, 5, func(s *Setup) {
		s.Keyed, s.Resolution, s.Sheet.Plunger.CosineDeg = true, 0.01, 30
	}, false)
	h.typeLine(t, "0.16")
	require.Len(t, h.taken, 1)
	assert.InDelta(t, math.Cos(math.Pi/6)*0.01/math.Sqrt(6), h.taken[0].OwnU, 1e-9, "two readings to 0.01 each")
}

// What gives way unseen is what the hand was measured to leave, or judged by how the
// readings arrive: a gauge that is read too seldom to see that leaves more of it open.
func TestWhatGivesWayUnseen(t *testing.T) {
	handU := func(push float64) float64 {
		h := newHand(record.FeatureBacklash, 3, func(s *Setup) { s.Resolution, s.Sheet.Plunger.PushMM = 0.01, push }, false).coarse()
		h.rockByHand(0, 0.15, 8)
		require.Len(t, h.taken, 1)
		return h.taken[0].HandU
	}
	assert.InDelta(t, 0.001/math.Sqrt(3), handU(0.001), 1e-9)
	assert.Greater(t, handU(0), 2*rocking.UnseenDoubt/math.Sqrt(3)+1e-6)
	typed := func(push float64) float64 {
		h := newHand(record.FeatureBacklash, 3, func(s *Setup) { s.Keyed, s.Sheet.Plunger.PushMM = true, push }, false)
		h.typeLine(t, "0.16")
		return h.taken[0].HandU
	}
	assert.GreaterOrEqual(t, typed(0), handU(0), "typing it takes no doubt away")
	assert.InDelta(t, 0.001/math.Sqrt(3), typed(0.001), 1e-9)
}

// TestLiftLimit: four times the window's end at least, so that no rock is a lift.
func TestLiftLimit(t *testing.T) {
	for upper, want := range map[float64]float64{math.NaN(): motion.DefaultLift, motion.DefaultLift / 5: motion.DefaultLift, motion.DefaultLift: 4 * motion.DefaultLift} {
		var s Setup
		s.Spec.Limits.Upper = upper
		m := newRocks(s)
		assert.Equal(t, want, m.lift.Limit)
		assert.True(t, math.IsNaN(m.tapped))
	}
}
