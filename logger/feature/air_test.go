package feature

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// typedAirAt is an air test at the keys, of which the clock can be set.
type typedAirAt struct {
	*hand
	t   *testing.T
	now time.Time
}

func newTypedAir(t *testing.T, change func(s *Setup)) *typedAirAt {
	h := newHand(record.FeatureLeakDown, 1, func(s *Setup) {
		s.Keyed = true
		change(s)
	}, false)
	return &typedAirAt{h, t, testTime}
}

// wait lets so many seconds pass, one tick each, and counts the rings.
func (a *typedAirAt) wait(seconds int) (rings int) {
	for range seconds {
		a.now = a.now.Add(time.Second)
		for _, e := range a.Step(a.at, Input{Kind: Tick, Time: a.now}) {
			if _, ok := e.(Ring); ok {
				rings++
			}
		}
	}
	return rings
}

func (a *typedAirAt) pressure(kPa float64) {
	a.step(Input{Kind: Typed, Value: kPa, Unit: "kPa", Time: a.now, Gauge: "keyed"})
}

// TestAirTestByTheClock: 120 s of settling, 600 of test, by the example's sheet.
func TestAirTestByTheClock(t *testing.T) {
	a := newTypedAir(t, func(*Setup) {})
	assert.Contains(t, a.ask(), "Fill the line to 690 kPa, never above 830 kPa, shut it off")
	assert.Zero(t, a.wait(5), "no clock runs yet")
	a.pressure(700)
	assert.Equal(t, 120.0, a.Progress().Left)
	assert.Equal(t, "settling", a.Progress().Leg)
	assert.Zero(t, a.wait(60))
	a.pressure(695)
	assert.Equal(t, "Too early: 60 s of the settling to go. What was typed is not taken.", a.shown)
	assert.Equal(t, 1, a.wait(100), "one ring, however long nobody comes")
	assert.Contains(t, a.ask(), "The line has settled: type the pressure in kPa as it is now")
	a.pressure(692)
	assert.Equal(t, 600.0, a.Progress().Left)
	a.wait(300)
	a.step(Input{Kind: Typed, Value: 10, Unit: "min", Time: a.now})
	assert.Equal(t, "The clock runs: the minutes come from it.", a.shown)
	assert.Equal(t, 1, a.wait(360))
	a.pressure(690)
	require.Len(t, a.taken, 1)
	c := a.taken[0]
	assert.InDelta(t, 2.0/11, c.Value, 1e-5, "660 s between the two that count")
	assert.Regexp(t, "^692 to 690 kPa in 11 min; .*; minutes by the clock$", c.Note)
	assert.Equal(t, 692.0, c.High)
}

// TestTypedMinutesAreMarked: of a whole line, and of a file, where no clock runs.
func TestTypedMinutesAreMarked(t *testing.T) {
	for name, piped := range map[string]bool{"in one line": false, "from a file": true} {
		t.Run(name, func(t *testing.T) {
			h := newHand(record.FeatureLeakDown, 1, func(s *Setup) { s.Keyed, s.Piped = true, piped }, false)
			h.typeLine(t, "690 688 kPa 10 min")
			require.Len(t, h.taken, 1)
			assert.Regexp(t, "^690 to 688 kPa in 10 min; .*; minutes typed, no clock ran$", h.taken[0].Note)
		})
	}
}

// TestAirAboveWhatTheLockMayHave is not measured on.
func TestAirAboveWhatTheLockMayHave(t *testing.T) {
	low := func(s *Setup) {
		s.Sheet.LeakDown.TestPressure, s.Sheet.LeakDown.MaxPressure, s.Sheet.LeakDown.Unit = 0.3, 0.4, "bar"
	}
	a := newTypedAir(t, low)
	assert.Contains(t, a.ask(), "Fill the line to 0.3 bar, never above 0.4 bar")
	assert.NotContains(t, a.ask(), "690")
	a.pressure(41)
	assert.Equal(t, "41 kPa is above the 0.4 bar that the lock may have: vent the line. Nothing of it is stored.", a.shown)
	assert.Contains(t, a.ask(), "Fill the line to 0.3 bar", "the test begins anew")

	h := air(low)
	h.put(41)
	assert.Contains(t, h.shown, "vent the line")
	assert.Contains(t, h.ask(), "Fill the line")

	none := newTypedAir(t, func(s *Setup) { s.Sheet.LeakDown.TestPressure, s.Sheet.LeakDown.MaxPressure = 0, 0 })
	assert.Contains(t, none.ask(), "Fill the line to the lock maker's test pressure, shut")
	assert.NotRegexp(t, `\d+ (kPa|bar)`, none.ask(), "no figure but the sheet's")
}

// TestAirTestAtAnotherPressureProvesNothing: a lock of 690 kPa.
func TestAirTestAtAnotherPressureProvesNothing(t *testing.T) {
	for _, tt := range []struct {
		name    string
		rate    float64
		high    float64
		verdict gum.Verdict
		reason  string
		empty   bool
	}{
		{"at it", 1, 690, gum.Inside, "all conditions met", false},
		{"a little below", 1, 656, gum.Inside, "all conditions met", false},
		{"below", 1, 655, gum.NotDecided, "tested at 655 kPa, and the lock is tested at 690 kPa", true},
		{"next to nothing", 0.001, 20, gum.NotDecided, "tested at 20 kPa, and the lock is tested at 690 kPa", true},
		{"not known", 1, nan, gum.NotDecided, "tested at an unknown pressure, and the lock is tested at 690 kPa", true},
		{"it leaks even so", 9, 20, gum.Outside, "position 1: outside", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := whole(record.FeatureLeakDown, tt.rate, 0.01)
			j[0].High = tt.high
			a := Assess(sheet.Example(), j, record.StageFinal, record.FeatureLeakDown)
			assert.Equal(t, tt.verdict, a.Verdict)
			assert.Equal(t, tt.reason, a.Reason())
			assert.Equal(t, tt.empty, a.ProvesNothing())
			single, _, judged := NewJudge(sheet.Example(), record.FeatureLeakDown).Decide(j[0])
			assert.Equal(t, []any{tt.verdict, true}, []any{single, judged}, "by itself")
		})
	}
}
