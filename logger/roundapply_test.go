package logger

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// apply does one effect, which must not fail.
func (p *played) do(e feature.Effect) (goOn bool) {
	p.t.Helper()
	goOn, err := p.apply(e)
	require.NoError(p.t, err)
	return goOn
}

// A fault is taken back by its own name, by no name, or by a sound measurement,
// which leaves a line alone that is no fault.
func TestWhatTakesAnAlertBack(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	p.do(feature.Fault{Fault: analysis.PinionSlip, Text: "slips"})
	p.do(feature.Clear{Fault: analysis.BaseCreep})
	assert.Equal(t, "slips", p.View().Alert, "another fault is over")
	assert.Equal(t, analysis.PinionSlip, p.View().Fault)
	p.do(feature.Clear{Fault: analysis.PinionSlip})
	assert.Empty(t, p.View().Alert)
	assert.Equal(t, 1, p.count(EventCleared))

	p.do(feature.Fault{Fault: analysis.PinionSlip, Text: "slips"})
	p.do(feature.Clear{})
	assert.Empty(t, p.View().Alert)
	p.do(feature.Fault{Fault: analysis.PinionSlip, Text: "slips"})
	p.do(feature.Rock{Sound: true})
	assert.Empty(t, p.View().Alert)
	assert.Equal(t, 3, p.View().Alarm, "one for each fault")
	assert.Equal(t, 3, p.count(EventCleared))

	p.do(feature.Warn("a line"))
	p.do(feature.Rock{Sound: true})
	assert.Equal(t, "a line", p.View().Alert)
	assert.Equal(t, 3, p.View().Alarm, "a line does not ring")
	p.do(feature.Clear{})
	assert.Empty(t, p.View().Alert)
	assert.Equal(t, 3, p.count(EventCleared), "nor is it a fault that is over")
}

// The same fault rings once, a line once is told once.
func TestAnAlertIsToldOnce(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	for range 3 {
		p.do(feature.Fault{Fault: analysis.Gaps, Text: "gaps"})
	}
	assert.Equal(t, 1, p.View().Alarm)
	assert.Equal(t, 1, p.count(EventFault))
	for range 3 {
		p.do(feature.Warn("a line"))
	}
	assert.Equal(t, 1, p.count(EventGauge))
	assert.Empty(t, p.View().Fault)
}

func TestEffectsMoveTheRound(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(0.15, 0.16)
	require.Equal(t, 2, p.current)
	assert.True(t, p.do(feature.GoTo{Index: 1}))
	assert.Equal(t, 1, p.View().Current)
	assert.False(t, p.captured(), "it is measured once more")

	p.do(feature.Measuring{})
	assert.Equal(t, StateMeasuring, p.View().State)
	p.do(feature.Moving{})
	assert.Equal(t, StateMoving, p.View().State)
	p.do(feature.Advance{})
	assert.Equal(t, 2, p.View().Current, "the next without a capture")
	assert.False(t, p.do(feature.Block{Name: "lock", Text: "Blocked."}), "what comes after a block waits")
	assert.Equal(t, "Blocked.", p.View().Alert)
}

// What could not be stored is told, and nothing after it is done.
func TestNothingGoesOnBehindACaptureThatIsNotStored(t *testing.T) {
	store := &memoryStore{fail: errors.New("disk full")}
	p := play(t, store, RoundConfig{})
	goOn, err := p.apply(feature.Captured{Value: 0.16, U: 0.002, N: 3})
	assert.False(t, goOn)
	require.ErrorIs(t, err, store.fail)
	assert.Equal(t, "NOT stored: disk full. What was stored before is safe.", p.View().Alert)
	assert.Equal(t, 0, p.View().Stored)
	assert.Equal(t, 0, p.View().Bell)

	store.fail = nil
	assert.True(t, p.do(feature.Captured{Value: 0.16000049, U: 0.002, N: 3}))
	v := p.View()
	assert.Empty(t, v.Alert)
	assert.Equal(t, 1, v.Stored)
	assert.Equal(t, 1, v.Bell)
	assert.Equal(t, StateCaptured, v.State)
	assert.Equal(t, 0.16, store.captures[0].Value, "to a nanometre")
	assert.Equal(t, 3, v.Rocks)
	assert.Equal(t, 0.16, v.Estimate)
	last := p.events[len(p.events)-1]
	assert.Equal(t, "backlash 0°: 0.1600 ± 0.0040 mm", last.Text) // twice 0.002
	assert.Equal(t, 1, last.Position.Index)
}

// A gauge whose unit jumps by itself is believed again within a tenth of the jump
// of where it was: 0.160 to 4.064 is a jump of 3.904.
func TestAFlippedUnitIsOverNearWhereItWas(t *testing.T) {
	f := unitFlip{before: 0.160, after: 4.064}
	assert.True(t, f.isBack(0.160+0.390))
	assert.False(t, f.isBack(0.160+0.391))
	assert.True(t, f.isBack(0.160-0.390))
	assert.False(t, f.isBack(0.160-0.391))
}

// The digits shown are those of the resolution given, else of the sheet's gauge;
// a gauge that is too coarse for the window is warned of in place of the caution.
func TestDigitsAndCautionOfTheGauge(t *testing.T) {
	fine := play(t, &memoryStore{}, RoundConfig{Resolution: 0.001}).View()
	assert.Equal(t, 3, fine.Decimals)
	assert.Equal(t, feature.Caution(record.FeatureBacklash), fine.Caution)
	assert.Equal(t, 2, play(t, &memoryStore{}, RoundConfig{Resolution: 0.05}).View().Decimals)
	coarse := play(t, &memoryStore{}, RoundConfig{Resolution: 0.1}).View()
	assert.Equal(t, 1, coarse.Decimals)
	assert.Contains(t, coarse.Caution, "With this gauge the window cannot be decided")
}

// The end of the input is told with what there is, and with why it ended.
func TestEndOfInput(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(0.15, 0.16)
	require.NoError(t, p.Handle(device.Event{Kind: device.EventEnd, Time: testTime.Add(time.Minute)}))
	assert.Equal(t, "The input has ended with 2 of 8 stored.", p.events[len(p.events)-1].Text)
	require.NoError(t, p.Handle(device.Event{Kind: device.EventEnd, Time: testTime.Add(time.Minute), Text: "closed"}))
	assert.Equal(t, "The input has ended (closed) with 2 of 8 stored.", p.events[len(p.events)-1].Text)
	p.key(0.15, 0.16, 0.15, 0.16, 0.15, 0.16)
	require.True(t, p.Done())
	n := len(p.events)
	require.NoError(t, p.Handle(device.Event{Kind: device.EventEnd, Time: testTime.Add(time.Minute)}))
	assert.Len(t, p.events, n, "after the last there is nothing to tell")
}

// The low battery is told once; a reading beyond the range or held is not taken,
// and the alert is over with the next one.
func TestFlagsOfOneReading(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	put := func(f frame.Flags) {
		t.Helper()
		at := testTime.Add(time.Duration(len(p.trace)+1) * time.Second)
		require.NoError(t, p.Handle(device.Event{Kind: device.EventReading, Time: at, Reading: device.Reading{Time: at, Raw: "0.16", Value: 0.16, Unit: "mm", Flags: f}}))
	}
	put(frame.FlagLowBattery)
	put(frame.FlagLowBattery)
	assert.Equal(t, 1, p.count(EventGauge))
	put(frame.FlagHold)
	assert.Equal(t, analysis.Frozen, p.View().Fault)
	put(0)
	assert.Empty(t, p.View().Fault)
	put(frame.FlagOverRange)
	assert.Equal(t, analysis.EndOfTravel, p.View().Fault)
	put(frame.FlagDuplicate)
	assert.Equal(t, analysis.EndOfTravel, p.View().Fault, "the same reading once more tells nothing")
	put(0)
	assert.Empty(t, p.View().Fault)
	assert.Equal(t, 2, p.View().Alarm)
	assert.Equal(t, StateMeasuring, p.View().State)
	assert.Equal(t, 0.16, p.View().Reading)
}

// A capture keeps the gauge it names, else it has that of the round.
func TestGaugeOfACapture(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Gauge: "dial 3"})
	p.do(feature.Captured{Value: 0.16, Gauge: "keyed"})
	p.do(feature.Advance{})
	p.do(feature.Captured{Value: 0.16})
	assert.Equal(t, "keyed", p.store.captures[0].Gauge)
	assert.Equal(t, "dial 3", p.store.captures[1].Gauge)
}

// A broken frame alone says nothing of the plunger.
func TestGarbledFrameIsNoEndOfTravel(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	require.NoError(t, p.Handle(device.Event{Kind: device.EventGarbled, Time: testTime, Text: "short"}))
	assert.Empty(t, p.View().Fault)
}

// A block is passed with the reason the round was opened with, once it is on record.
func TestBlockIsPassedWithAReasonGivenBefore(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Override: "new locker"})
	assert.True(t, p.do(feature.Block{Name: "lock", Text: "Blocked."}))
	assert.Empty(t, p.View().Alert)
	require.Len(t, p.store.captures, 1)
	assert.Equal(t, record.FeatureOverride, p.store.captures[0].Feature)
	assert.Equal(t, "new locker", p.store.captures[0].Note)
}
