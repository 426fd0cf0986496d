package logger

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/device"
	"crownlog/logger/export"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// runoutLevel is what an indicator shows on an invented face.
func runoutLevel(deg float64) float64 {
	return 0.02*math.Cos((deg-141)*math.Pi/180) + 0.005*math.Cos(2*(deg-33)*math.Pi/180)
}

func TestRunoutByPositionHandsOff(t *testing.T) {
	h := newHandTrace(31)
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, HandsOff: true})
	for i := range 8 {
		deg := 45 * float64(i)
		h.hold(runoutLevel(deg), 1.5)
		if i == 0 {
			p.feed(h.take())
			require.NoError(t, p.Command(CmdCapture))
		}
		if i < 7 {
			for d := 1.0; d < 45; d++ {
				h.put(runoutLevel(deg+d) + 0.01*math.Sin(d))
			}
		}
	}
	p.feed(h.take())
	require.True(t, p.Done(), "%+v", p.View())
	for i, c := range p.store.captures {
		assert.InDelta(t, runoutLevel(45*float64(i)), c.Value, 0.001)
	}
	a := feature.Assess(sheet.Example(), p.store.captures, record.StageBench, record.FeatureRunoutBackFace)
	require.NotNil(t, a.Runout)
	run := *a.Runout
	require.NotNil(t, run.H1)
	assert.InDelta(t, 0.02, run.H1.Amplitude, 0.001)
	assert.InDelta(t, 141, run.H1.PhaseDeg, 3)
	assert.Equal(t, gum.Inside, p.View().Verdict)
}

func TestRunoutKeyed(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, Keyed: true})
	p.key(0, 0.02, 0.05, 0.08, 0.1, 0.08, 0.05, -0.02)
	require.True(t, p.Done())
	assert.Equal(t, gum.Outside, p.View().Verdict, "0.12 against 0.08")
}

func TestRunoutContinuousTurn(t *testing.T) {
	h := newHandTrace(32)
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, Continuous: true})
	for i := range int(2.2 * 24 * h.rate) {
		h.put(runoutLevel(360 * float64(i) / (24 * h.rate)))
	}
	p.feed(h.take())
	require.NoError(t, p.Command(CmdCapture))
	require.True(t, p.Done(), p.View().Alert)
	c := p.store.captures[0]
	assert.Zero(t, c.Position)
	low, high := math.Inf(1), math.Inf(-1)
	for d := range 360 {
		low, high = math.Min(low, runoutLevel(float64(d))), math.Max(high, runoutLevel(float64(d)))
	}
	assert.InDelta(t, high-low, c.Value, 0.003)
	assert.Contains(t, c.Note, "once a turn 0.0")
	a := feature.Assess(sheet.Example(), p.store.captures, record.StageBench, record.FeatureRunoutBackFace)
	require.NotNil(t, a.Runout)
	run := *a.Runout
	assert.InDelta(t, c.Value, run.FIM, 1e-12)
}

func TestPreloadIsTakenOnLettingGo(t *testing.T) {
	w := newWrench()
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageCaps, Feature: record.FeaturePreloadTotal, Resolution: 0.01})
	for range 50 {
		w.put(0)
	}
	assert.Contains(t, p.View().Action, "The seal is not fitted yet.")
	w.put(3.1)
	w.put(2.8)
	for i := range 800 {
		w.at = w.at.Add(10 * time.Millisecond)
		v := 2.1 + 0.1*math.Sin(2*math.Pi*float64(i)/150)
		w.events = append(w.events, device.Event{Kind: device.EventReading, Time: w.at, Gauge: "wrench",
			Reading: device.Reading{Time: w.at, Value: math.Round(v*100) / 100, Unit: "N·m"}})
	}
	p.feed(w.take())
	assert.Empty(t, p.store.captures, "still turning")
	for range 100 {
		w.put(0)
	}
	p.feed(w.take())
	require.True(t, p.Done(), p.View().Alert)
	c := p.store.captures[0]
	assert.InDelta(t, 2.1, c.Value, 0.05)
	assert.Contains(t, c.Note, "running torque, without the seal")
	assert.Equal(t, gum.Inside, p.View().Verdict)
}

// TestKeyedPreloadNeedsItsTool: a typed torque may come from anything. What the
// sheet says of its tool decides; where it says nothing, nothing is proven.
func TestKeyedPreloadNeedsItsTool(t *testing.T) {
	s := sheet.Example() // 1.7 to 2.5 N·m
	s.Preload.ToolMPEPct = 0
	key := func(v float64) *played {
		p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Stage: record.StageFinal, Feature: record.FeaturePreloadTotal, Keyed: true})
		p.key(v)
		require.True(t, p.Done())
		return p
	}
	p := key(1.7)
	assert.True(t, math.IsNaN(p.store.captures[0].U))
	assert.Equal(t, gum.NotDecided, p.View().Verdict)
	assert.Equal(t, "as read inside, uncertainty unknown", p.View().Reason)
	var record strings.Builder
	require.NoError(t, export.WriteRecordCSV(&record, s, p.store.captures))
	assert.Contains(t, record.String(), ",not decided,")
	assert.Contains(t, record.String(), "as read inside, uncertainty unknown: keyed")

	s.Preload.ToolMPEPct = 4
	assert.Equal(t, gum.TooClose, key(1.7).View().Verdict)
	p = key(2.1)
	assert.Equal(t, gum.Inside, p.View().Verdict)
	assert.InDelta(t, 2.1*0.04/math.Sqrt(3), p.store.captures[0].U, 1e-6)
}

func TestPreloadTooShort(t *testing.T) {
	w := newWrench()
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageCaps, Feature: record.FeaturePreloadTotal})
	for range 150 {
		w.put(2)
	}
	for range 100 {
		w.put(0)
	}
	p.feed(w.take())
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "too short")
}

func TestLeakDownSettlesMeasuresAndEnds(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: record.FeatureLeakDown})
	at := testTime
	for i := range 13 * 60 {
		at = at.Add(time.Second)
		min := float64(i) / 60
		require.NoError(t, p.Handle(device.Event{Kind: device.EventReading, Time: at,
			Reading: device.Reading{Time: at, Gauge: "thermometer", Value: 20, Unit: "°C"}}))
		pressure := 700 - 1.2*min + 30*math.Exp(-min*4) // settling, then 1.2 kPa a minute
		require.NoError(t, p.Handle(device.Event{Kind: device.EventReading, Time: at,
			Reading: device.Reading{Time: at, Gauge: "pressure", Value: math.Round(pressure*10) / 1000, Unit: "bar"}}))
		if i == 60 {
			assert.Contains(t, p.View().Action, "Settling: 60 s to go")
		}
	}
	require.True(t, p.Done(), p.View().Alert)
	c := p.store.captures[0]
	assert.Equal(t, "kPa/min", c.Unit)
	assert.InDelta(t, 1.2, c.Value, 0.1)
	assert.Equal(t, gum.Inside, p.View().Verdict)
	assert.Contains(t, c.Note, "drop")
}

// TestLeakDownOfAHeldGauge: a reading that never changes is a held gauge until
// it was seen to follow, and then what its last digit can hide counts.
func TestLeakDownOfAHeldGauge(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: record.FeatureLeakDown})
	at := testTime
	read := func(bar float64) {
		at = at.Add(time.Second)
		require.NoError(t, p.Handle(device.Event{Kind: device.EventReading, Time: at,
			Reading: device.Reading{Time: at, Gauge: "pressure", Value: bar, Unit: "bar", Raw: fmt.Sprintf("%.2f bar", bar)}}))
	}
	for range 13 * 60 {
		read(7)
	}
	assert.Empty(t, p.store.captures)
	assert.Equal(t, analysis.Frozen, p.View().Fault)
	assert.Contains(t, p.View().Action, "Let a little air out")
	require.NoError(t, p.Command(CmdCapture))
	assert.Empty(t, p.store.captures, "not by command either")
	read(6.98)
	require.True(t, p.Done(), p.View().Alert)
	c := p.store.captures[0]
	assert.Zero(t, c.Value)
	assert.InDelta(t, math.Hypot(1, 801.325/293.15*2)/math.Sqrt(3)/10, c.U, 0.02, "a count of 1 kPa and 2 °C that nobody saw, over ten minutes")
}

func TestPatternByCommand(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageSetUp, Feature: record.FeaturePatternDrive})
	require.NoError(t, p.Command(CmdPattern(-0.3, 0.25)))
	require.True(t, p.Done())
	contact, ok := feature.PatternOf(p.store.captures, record.StageSetUp, record.FeaturePatternDrive)
	require.True(t, ok)
	assert.Equal(t, setup.Contact{Along: -0.3, Up: 0.25}, contact)
	require.Error(t, p.Command(Command("pattern 0.1")), "half a place")
	require.NoError(t, p.Command(CmdPattern(0.1, 2)))
	assert.Len(t, p.store.captures, 2, "off the tooth, nothing of it is stored")
	p = play(t, &memoryStore{}, RoundConfig{Stage: record.StageSetUp, Feature: record.FeaturePatternCoast, Keyed: true})
	p.key(2)
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "off the tooth")
}

func TestPatternEnteredTwice(t *testing.T) {
	store := &memoryStore{}
	for i := range 2 { // in the round, and in one opened later
		p := play(t, store, RoundConfig{Stage: record.StageSetUp, Feature: record.FeaturePatternDrive, Keyed: true})
		require.NoError(t, p.Command(CmdPattern(0, 0)))
		require.NoError(t, p.Command(CmdPattern(0.6, 0.1*float64(i))))
		require.True(t, p.Done())
		contact, ok := feature.PatternOf(store.captures, record.StageSetUp, record.FeaturePatternDrive)
		require.True(t, ok)
		assert.Equal(t, setup.Contact{Along: 0.6, Up: 0.1 * float64(i)}, contact)
		v := p.View()
		assert.Equal(t, 0.6, v.Positions[0].Value)
		assert.Equal(t, 0.1*float64(i), v.Positions[1].Value)
		assert.Len(t, record.Active(store.captures), 2)
	}
}

func TestEngagementAndOil(t *testing.T) {
	s := sheet.Example()
	s.Engagement.Cycles = 3
	p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Stage: record.StageFinal, Feature: record.FeatureEngagement, Keyed: true})
	p.key(0.6, 0.7, 0.6)
	assert.True(t, p.Done())
	assert.Equal(t, "s", p.store.captures[0].Unit)
	p = play(t, &memoryStore{}, RoundConfig{Sheet: s, Stage: record.StageFinal, Feature: record.FeatureOilFill})
	require.NoError(t, p.Command(CmdKeyed(1.9, "")))
	assert.True(t, p.Done())
	assert.Equal(t, "L", p.store.captures[0].Unit)
}

// TestEveryFeatureHasARound makes sure that each listed feature can be started
// and says what to do.
func TestEveryFeatureHasARound(t *testing.T) {
	for _, name := range record.Features() {
		t.Run(name, func(t *testing.T) {
			p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: name})
			v := p.View()
			assert.NotEmpty(t, v.Action)
			assert.NotEmpty(t, v.Caution)
			assert.NotEmpty(t, v.Positions)
			assert.Equal(t, StateWaiting, v.State)
			_, ok := record.UnitOf(name)
			assert.True(t, ok)
		})
	}
}

// TestAnotherQuantityIsRefused with the units that would do.
func TestAnotherQuantityIsRefused(t *testing.T) {
	_, err := NewRound(RoundConfig{Sheet: sheet.Example(), Stage: record.StageFinal, Feature: record.FeatureLeakDown, Store: &memoryStore{}, Unit: "mm"})
	require.EqualError(t, err, `unit "mm": want kPa, bar, psi or MPa`)
}

// A key pressed before the gauge has sent anything is answered, and no longer than
// that is so.
func TestNoReadingYetIsOverWithTheFirst(t *testing.T) {
	h := newHandTrace(33)
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, Continuous: true})
	require.NoError(t, p.Command(CmdCapture))
	assert.Equal(t, "No reading yet.", p.View().Alert)
	h.put(0.1)
	p.feed(h.take())
	assert.Empty(t, p.View().Alert)
}
