package logger

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

func (h *handTrace) event(k device.EventKind, text string) {
	h.at = h.at.Add(20 * time.Millisecond)
	h.events = append(h.events, device.Event{Kind: k, Time: h.at, Gauge: "indicator", Text: text})
}

// TestRoundNamesFaults makes what goes wrong at the gear go wrong, and then
// lets it be put right: the fault is named, nothing is captured meanwhile, and
// the sound rocks afterwards are.
func TestRoundNamesFaults(t *testing.T) {
	tests := []struct {
		name  string
		wrong func(h *handTrace)
		fault analysis.Fault
	}{
		{"pinion slips", func(h *handTrace) {
			for i := range 7 {
				h.move(0, 0.16+0.02*float64(i), 0.25)
				h.hold(0.16+0.02*float64(i), 0.6)
				h.move(0.16+0.02*float64(i), 0, 0.25)
				h.hold(0, 0.6)
			}
		}, analysis.PinionSlip},
		{"base creeps", func(h *handTrace) {
			for i := range 8 {
				b := 0.015 * float64(i)
				h.move(b, b+0.16, 0.25)
				h.hold(b+0.16, 0.6)
				h.move(b+0.16, b+0.007, 0.25)
				h.hold(b+0.007, 0.6)
			}
		}, analysis.BaseCreep},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := newHandTrace(11)
			p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
			tt.wrong(h)
			p.feed(h.take())
			assert.Empty(t, p.store.captures)
			var named []analysis.Fault
			for _, e := range p.events {
				if e.Kind == EventFault {
					named = append(named, e.Fault)
					assert.Equal(t, words.Fault(e.Fault), e.Text)
				}
			}
			assert.Contains(t, named, tt.fault)
			assert.Positive(t, p.View().Alarm)

			require.NoError(t, p.Command(CmdRetry))
			h.rock(0.1, 0.16, 5)
			p.feed(h.take())
			require.Len(t, p.store.captures, 1)
			assert.Empty(t, p.View().Alert)
			assert.InDelta(t, 0.16, p.store.captures[0].Value, 0.004)
		})
	}
}

// TestRoundNoticesAGaugeInInches: a gauge that sends no unit and is set to
// inches is not believed, neither at the first position nor later.
func TestRoundNoticesAGaugeInInches(t *testing.T) {
	for _, before := range []int{0, 2} {
		h := newHandTrace(17)
		p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
		for i := range before {
			h.rock(0, trueBacklash(i+1), 4)
			h.liftAndTurn(0, 0)
		}
		p.feed(h.take())
		require.Len(t, p.store.captures, before)
		h.digit, h.noise = 0.0001, 0.00005
		h.rock(0, 0.16/25.4, 12)
		p.feed(h.take())
		assert.Len(t, p.store.captures, before)
		assert.Equal(t, analysis.UnitFlip, p.View().Fault)
		require.NoError(t, p.Command(CmdRetry))
		h.digit, h.noise = 0.001, 0.0008
		h.rock(0, 0.16, 5)
		p.feed(h.take())
		assert.Len(t, p.store.captures, before+1)
		assert.Empty(t, p.View().Alert)
	}
}

func TestZeroPressedStartsTheRocksAnew(t *testing.T) {
	h := newHandTrace(18)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.rock(0, 0.16, 2)
	h.hold(0.35, 0.3)
	h.rock(0.35, 0.16, 6)
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
	assert.InDelta(t, 0.16, p.store.captures[0].Value, 0.004)
	assert.InDelta(t, 0.35, p.store.captures[0].Low, 0.004, "levels of before are forgotten")
	var named []analysis.Fault
	for _, e := range p.events {
		if e.Kind == EventFault {
			named = append(named, e.Fault)
		}
	}
	assert.Contains(t, named, analysis.ZeroShift)
}

func TestRoundSurvivesUnplugging(t *testing.T) {
	h := newHandTrace(12)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.rock(0, 0.16, 4)
	h.liftAndTurn(0, 0)
	h.rock(0, 0.16, 2)
	h.event(device.EventLost, "device gone")
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
	v := p.View()
	assert.Equal(t, StateLost, v.State)
	assert.Contains(t, v.Alert, "plug it in again")
	assert.Contains(t, v.Alert, "Stored so far: 1.")
	assert.True(t, math.IsNaN(v.Reading), "nobody knows what a gauge shows that is gone")
	h.at = h.at.Add(time.Minute)
	h.event(device.EventBack, "/dev/somewhere")
	h.rock(0.3, 0.17, 5)
	p.feed(h.take())
	require.Len(t, p.store.captures, 2)
	assert.Equal(t, 2, p.store.captures[1].Position)
	assert.InDelta(t, 0.17, p.store.captures[1].Value, 0.004)
	assert.Empty(t, p.View().Alert)
}

func TestRoundCountsGarbledFrames(t *testing.T) {
	h := newHandTrace(13)
	p := play(t, &memoryStore{}, RoundConfig{})
	h.move(0, 0.16, 0.3)
	for range 3 {
		h.event(device.EventGarbled, `"0.1?"`)
	}
	h.rock(0, 0.16, 5)
	p.feed(h.take())
	assert.Equal(t, 3, p.View().Garbled)
	assert.Len(t, p.store.captures, 1)
}

func TestRoundHeedsFlags(t *testing.T) {
	tests := []struct {
		name  string
		flags frame.Flags
		unit  string
		fault analysis.Fault
	}{
		{"hold", frame.FlagHold, "mm", analysis.Frozen},
		{"over range", frame.FlagOverRange, "mm", analysis.EndOfTravel},
		{"unit flipped with no unit sent", frame.FlagUnitChanged, "", analysis.UnitFlip},
		{"unit flipped under the profile's unit", frame.FlagUnitChanged, "mm", analysis.UnitFlip},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := newHandTrace(14)
			p := play(t, &memoryStore{}, RoundConfig{Unit: "mm"})
			h.rock(0, 0.16, 5)
			events := h.take()
			for i := range events {
				events[i].Reading.Flags, events[i].Reading.Unit = tt.flags, tt.unit
			}
			p.feed(events)
			assert.Empty(t, p.store.captures)
			assert.Equal(t, tt.fault, p.View().Fault)
			assert.NotEmpty(t, p.View().Alert)
			if tt.fault == analysis.UnitFlip {
				return // stays until rocks show the old scale again
			}
			h.rock(0, 0.16, 1)
			p.feed(h.take())
			assert.Empty(t, p.View().Alert, "over with the next sound reading")
		})
	}
}

func TestOverRangeWithoutAValueIsTheEndOfTravel(t *testing.T) {
	h := newHandTrace(15)
	p := play(t, &memoryStore{}, RoundConfig{})
	h.rock(0, 0.16, 1)
	p.feed(h.take())
	require.NoError(t, p.Handle(device.Event{Kind: device.EventGarbled, Time: h.at, Flags: frame.FlagOverRange, Text: `over range: "OL"`}))
	assert.Equal(t, analysis.EndOfTravel, p.View().Fault)
	h.rock(0, 0.16, 1)
	p.feed(h.take())
	assert.Empty(t, p.View().Fault, "over with the next sound reading")
}

// levels feeds a rest of two seconds at each level, as an unnamed unit shows
// it; flip flags the first reading.
func (p *played) levels(at time.Time, unit string, flip bool, levels ...float64) time.Time {
	p.t.Helper()
	for _, level := range levels {
		for range 20 {
			at = at.Add(100 * time.Millisecond)
			rd := device.Reading{Time: at, Value: level, Unit: unit, Gauge: "dial"}
			if flip {
				rd.Flags, flip = frame.FlagUnitChanged, false
			}
			require.NoError(p.t, p.Handle(device.Event{Kind: device.EventReading, Time: at, Gauge: "dial", Reading: rd}))
		}
		at = at.Add(5 * time.Second)
	}
	return at
}

func TestNothingIsMeasuredInAFlippedUnit(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, HandsOff: true})
	at := p.levels(testTime, "mm", false, 1.00)
	require.NoError(t, p.Command(CmdCapture))
	at = p.levels(at, "mm", false, 1.02)
	require.Len(t, p.store.captures, 2)
	at = p.levels(at, "mm", true, 0.0402, 0.0410, 0.0398)
	assert.Len(t, p.store.captures, 2)
	assert.Equal(t, analysis.UnitFlip, p.View().Fault)
	at = p.levels(at, "mm", true, 1.05, 1.08)
	stored := len(p.store.captures)
	assert.Greater(t, stored, 2, "the unit is back")
	assert.Empty(t, p.View().Alert)

	at = p.levels(at, "mm", true, 0.0406)
	require.NoError(t, p.Command(CmdRetry))
	p.levels(at, "mm", false, 0.08, 0.12)
	assert.Contains(t, p.View().Alert, "Is it the same place?", "it is another zero")
	require.NoError(t, p.Command(CmdCapture))
	assert.Greater(t, len(p.store.captures), stored, "the user says that the unit is right")
}

func TestReadingWithoutAnyUnitIsNotMeasured(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, HandsOff: true})
	at := p.levels(testTime, "", false, 0.0394, 0.0398)
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "names no unit")
	p.levels(at, "in", false, 0.0394)
	require.NoError(t, p.Command(CmdCapture))
	require.Len(t, p.store.captures, 1)
	assert.InDelta(t, 1.0008, p.store.captures[0].Value, 1e-4)
}

func TestSilenceIsOverWithTheNextReading(t *testing.T) {
	h := newHandTrace(19)
	p := play(t, &memoryStore{}, RoundConfig{})
	h.rock(0, 0.16, 1)
	h.event(device.EventSilent, "353 ms")
	p.feed(h.take())
	assert.Equal(t, "The gauge sends nothing. Wake it, or look at the cable.", p.View().Alert, "how long would not stay true")
	h.rock(0, 0.16, 1)
	p.feed(h.take())
	assert.Empty(t, p.View().Alert)
}

// The word on the screen is of the wheel: a key does not move it, a lift does.
func TestOnlyAWheelThatMovesIsMoving(t *testing.T) {
	h := newHandTrace(31)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.rock(0, 0.16, 2)
	p.feed(h.take())
	for _, c := range []Command{CmdNext, CmdBack, CmdRetry} {
		require.NoError(t, p.Command(c))
		assert.Equal(t, StateMeasuring, p.View().State, c)
	}
	h.rock(0, 0.16, 5)
	p.feed(h.take())
	require.Equal(t, StateCaptured, p.View().State)
	require.NoError(t, p.Command(CmdUndo))
	assert.Equal(t, StateMeasuring, p.View().State)
	h.rock(0, 0.16, 5)
	h.liftAndTurn(0, 0)
	lifted := false
	for _, ev := range h.take() {
		require.NoError(t, p.Handle(ev))
		if p.View().Current == 1 && p.View().State == StateMoving {
			lifted = true
		}
	}
	assert.True(t, lifted)
}

func TestRoundConvertsUnits(t *testing.T) {
	h := newHandTrace(15)
	h.digit = 0.0005 * 25.4
	p := play(t, &memoryStore{}, RoundConfig{Resolution: 0.0127})
	h.rock(0, 0.16, 6)
	events := h.take()
	for i := range events {
		events[i].Reading.Value /= 25.4
		events[i].Reading.Unit = "in"
	}
	p.feed(events)
	require.Len(t, p.store.captures, 1)
	assert.InDelta(t, 0.16, p.store.captures[0].Value, 0.008)
	assert.Equal(t, "mm", p.store.captures[0].Unit)
}

func TestRoundRefusesWrongQuantity(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	require.NoError(t, p.Handle(device.Event{Kind: device.EventReading, Time: testTime,
		Reading: device.Reading{Time: testTime, Gauge: "wrench", Value: 12, Unit: "N·m"}}))
	assert.Contains(t, p.View().Alert, "choose the right gauge")
}

// A sinkThatFails cannot keep raw readings.
type sinkThatFails struct{ err error }

func (s sinkThatFails) Record(device.Event) error { return s.err }

func TestRoundGoesOnWithoutRawReadings(t *testing.T) {
	h := newHandTrace(16)
	p := play(t, &memoryStore{}, RoundConfig{Readings: sinkThatFails{journal.ErrDiskFull}})
	h.rock(0, 0.16, 5)
	for _, ev := range h.take() {
		require.ErrorIs(t, p.Handle(ev), journal.ErrDiskFull)
	}
	assert.Len(t, p.store.captures, 1, "the capture itself could be stored")
}

func TestNewRoundRefuses(t *testing.T) {
	noBolts := sheet.Example()
	noBolts.Bolts = nil
	tests := []struct {
		name string
		c    RoundConfig
		want string
	}{
		{"unknown feature", RoundConfig{Sheet: sheet.Example(), Stage: record.StageFinal, Feature: "lash"}, `unknown feature "lash": want one of backlash`},
		{"text", RoundConfig{Sheet: sheet.Example(), Stage: record.StageFinal, Feature: record.FeatureNote}, "recorded, not measured"},
		{"stage", RoundConfig{Sheet: sheet.Example(), Stage: "later", Feature: record.FeatureBacklash}, `stage "later" is not in job.toml`},
		{"bolts not listed", RoundConfig{Sheet: noBolts, Stage: record.StageBench, Feature: record.FeatureWheelBolts}, "lists no crown wheel bolts"},
		{"unit", RoundConfig{Sheet: sheet.Example(), Stage: record.StageFinal, Feature: record.FeatureBacklash, Unit: "bar"}, `unit "bar": want mm`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.c.Store = &memoryStore{}
			_, err := NewRound(tt.c)
			require.ErrorContains(t, err, tt.want)
		})
	}
}
