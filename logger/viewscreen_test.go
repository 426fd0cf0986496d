package logger

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// inInches are the events as a gauge sends them that reads in inches.
func inInches(evs []device.Event) []device.Event {
	for i := range evs {
		rd := &evs[i].Reading
		if evs[i].Kind == device.EventReading {
			rd.Raw, rd.Unit = fmt.Sprintf("%.4f in", rd.Value/25.4), "in"
			rd.Value = math.Round(rd.Value/25.4*1e4) / 1e4
		}
	}
	return evs
}

func TestScreenShowsTheInchesOfTheGauge(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Resolution: 0.00254})
	h := newHandTrace(3)
	h.hold(0, 0.8)
	h.rock(0, 0.16, 4)
	p.feed(inInches(h.take()))
	require.Len(t, p.store.captures, 1)
	assert.InDelta(t, 0.16, p.store.captures[0].Value, 0.003, "the record keeps millimetres")
	assert.Equal(t, "mm", p.store.captures[0].Unit)
	assert.Equal(t, "mm", p.View().Unit)

	v := p.View().OnScreen()
	assert.Equal(t, "in", v.Unit)
	assert.Equal(t, 4, v.Decimals)
	assert.InDelta(t, 0.0063, v.Estimate, 0.0001)
	assert.InDelta(t, 0.0063, v.Positions[0].Value, 0.0001)
	assert.InDelta(t, 0.0063, v.Round.Mean, 0.0001)
	assert.Contains(t, v.SoFar(), " in")
	assert.Equal(t, "window 0.0052 to 0.0078 in", v.WindowText(), "nothing outside looks inside")
	for i, s := range p.View().Trace {
		assert.InDelta(t, s.X/25.4, v.Trace[i].X, 1e-12)
	}
	assert.Equal(t, v.Estimate, v.OnScreen().Estimate, "once is enough")
}

func TestScreenShowsTypedInches(t *testing.T) {
	s := sheet.Example()
	for i := range s.Windows {
		if w := &s.Windows[i]; w.Feature == record.FeatureBacklash {
			lower, upper := 0.005, 0.008
			w.Unit, w.Lower, w.Upper = "in", &lower, &upper
		}
	}
	p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Keyed: true, Resolution: 0.0254})
	require.NoError(t, p.Command(CmdKeyed(0.0065, "")))
	assert.InDelta(t, 0.1651, p.store.captures[0].Value, 1e-6)
	v := p.View().OnScreen()
	assert.Equal(t, "in", v.Unit)
	assert.Equal(t, 4, v.Decimals, "a thousandth, and half of one by eye")
	assert.Equal(t, "window 0.005 to 0.008 in", v.WindowText())
	assert.InDelta(t, 0.0065, v.Positions[0].Value, 1e-9)
	assert.InDelta(t, 0.0065, v.Reading, 1e-9)
}

func TestHalfADivisionKeepsItsDigit(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true, Resolution: 0.01})
	require.NoError(t, p.Command(CmdKeyed(0.175, "")))
	v := p.View().OnScreen()
	assert.Equal(t, 3, v.Decimals)
	assert.Equal(t, "mm", v.Unit)
}
