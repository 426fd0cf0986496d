package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/logger/record"
)

// What counts as a rest and as a movement of a run-out goes by the gauge's count,
// never below what a hand can hold.
func TestLevelThresholds(t *testing.T) {
	fine, coarse := &levels{Setup: Setup{Resolution: 0.001}}, &levels{Setup: Setup{Resolution: 0.01}}
	assert.Equal(t, 0.002, fine.count())
	assert.InDelta(t, 0.0075, coarse.count(), 1e-12)
	assert.Equal(t, 0.003, fine.slack())
	assert.InDelta(t, 0.015, coarse.slack(), 1e-12)
	coarse.jitter = 0.01
	assert.InDelta(t, 0.0353982, coarse.slack(), 1e-6) // 4 times 0.01 / 1.13

	assert.Equal(t, 0.5, fine.reach(), "no window")
	fine.Spec.Limits.Upper = 0.05
	assert.Equal(t, 0.5, fine.reach(), "three times 0.05 is less")
	fine.Spec.Limits.Upper = 0.2
	assert.InDelta(t, 0.6, fine.reach(), 1e-12)

	assert.Equal(t, 1.2, fine.wanted(), "after a place is stored")
	fine.placed = math.NaN()
	assert.Equal(t, 3.0, fine.wanted(), "the first")
}

// A coarse dial may not show a turn: three seconds after it was waited for, only
// the key tells the places apart.
func TestLateMovement(t *testing.T) {
	late := func(now float64, change func(m *levels)) bool {
		m := &levels{Setup: Setup{Resolution: 0.005}}
		change(m)
		return m.late(now)
	}
	assert.True(t, late(3.01, func(*levels) {}))
	assert.False(t, late(3, func(*levels) {}), "in time")
	assert.False(t, late(3.01, func(m *levels) { m.since = 0.5 }), "waited for since half a second")
	assert.False(t, late(3.01, func(m *levels) { m.Resolution = 0.0049 }), "a fine gauge shows any turn")
	assert.False(t, late(3.01, func(m *levels) { m.NoKeys = true }), "there is no key")
	assert.False(t, late(3.01, func(m *levels) { m.moved = true }), "it was seen to turn")
	assert.False(t, late(3.01, func(m *levels) { m.placed = math.NaN() }), "nothing is stored yet")
}

func TestRested(t *testing.T) {
	rested := func(lastT, lastX float64) bool {
		m := &levels{Setup: Setup{Resolution: 0.01}}
		m.recent = []analysis.Sample{{T: 0}, {T: 0.6}, {T: lastT, X: lastX}}
		return m.rested()
	}
	assert.True(t, rested(1.2, 0))
	assert.False(t, rested(1.19, 0), "too short")
	assert.True(t, rested(1.2, 0.0041)) // 0.55 times 0.0075 is 0.004125
	assert.False(t, rested(1.2, 0.0042), "it drifts")
	assert.False(t, rested(1.2, -0.0042), "it drifts back")
	two := &levels{recent: []analysis.Sample{{T: 0}, {T: 5}}}
	assert.False(t, two.rested(), "two readings are no rest")
}

// A rest is another place when the level differs by a count in time, or after a
// movement that went far enough for long enough.
func TestTurned(t *testing.T) {
	at := func(x float64, change func(m *levels)) *levels {
		m := &levels{Setup: Setup{Resolution: 0.01}, recent: []analysis.Sample{{T: 1, X: x}}}
		change(m)
		return m
	}
	as := func(*levels) {}
	assert.True(t, at(0.0075, as).turned(4.2, true))
	assert.True(t, at(-0.0075, as).turned(4.2, true))
	assert.False(t, at(0.0074, as).turned(4.2, true), "less than a count")
	assert.False(t, at(0.0075, as).turned(4.3, true), "later than 3 + 1.2 s: the base may creep")
	assert.False(t, at(0.0075, as).turned(4.2, false), "no place is stored here")
	assert.False(t, at(0.0075, func(m *levels) { m.fresh = true }).turned(4.2, true), "the hand lets go")

	moved := func(peak, began float64) *levels {
		return at(0, func(m *levels) { m.moved, m.peak, m.began = true, peak, began })
	}
	assert.True(t, moved(0.046, 0.7).turned(9, true)) // three times 0.015
	low := moved(0.044, 0.7)
	assert.False(t, low.turned(9, true), "not far enough")
	assert.False(t, low.moved, "forgotten")
	assert.Equal(t, 9.0, low.since, "and waited for anew")
	assert.False(t, moved(0.046, 0.75).turned(9, true), "a bump of a quarter of a second")

	first := at(0, func(m *levels) { m.placed, m.moved = math.NaN(), true })
	assert.False(t, first.turned(9, false), "the first is taken by key")
	first.NoKeys = true
	assert.True(t, first.turned(9, false), "where there is one")
	first.moved = false
	assert.False(t, first.turned(9, false))
}

// Rocks with a fault are kept for four more, then all are forgotten, so that sound
// ones count once its cause is removed: of three wanted the seventh is the last.
func TestFaultyRocksAreForgotten(t *testing.T) {
	h := newHand(record.FeatureBacklash, 6, func(s *Setup) { s.Resolution = 0.0001 }, false)
	h.digit, h.noise = 0.0001, 0.00005
	h.hold(0, 1)
	most, forgotten := 0, 0
	for range 12 {
		before := h.Progress().Rocks
		h.rock(0, 0.165/25.4, 1)
		rocks := h.Progress().Rocks
		most = max(most, rocks)
		if rocks < before {
			forgotten++
		}
	}
	assert.Empty(t, h.taken)
	assert.Positive(t, h.faults[analysis.UnitFlip])
	assert.Equal(t, usualRocks+staleRocks-1, most)
	assert.Equal(t, 1, forgotten)
	h.digit, h.noise = 0.001, 0.0008
	h.rock(0, 0.165, 14)
	assert.Len(t, h.taken, 1)
}

// A line is cut before each number, with its sign or point.
func TestNumberGroups(t *testing.T) {
	for line, want := range map[string][]string{
		"690 688 kPa 10 min":  {"690", "688 kPa", "10 min"},
		"0 kPa 9 min":         {"0 kPa", "9 min"},
		"6.9 bar -5 C +3 C":   {"6.9 bar", "-5 C", "+3 C"},
		".5 bar ,4 bar 1 min": {".5 bar", ",4 bar", "1 min"},
		"kPa 5":               {"kPa", "5"},
		"690 - 688":           {"690 -", "688"},
		"":                    {},
	} {
		assert.Equal(t, want, numberGroups(line), line)
	}
}
