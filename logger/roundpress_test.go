package logger

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/record"
)

// press feeds values as a gauge sends them at the press of its key.
func (p *played) press(unit string, values ...float64) {
	p.t.Helper()
	at := p.now
	if at.IsZero() {
		at = testTime
	}
	for _, v := range values {
		at = at.Add(4 * time.Second)
		rd := device.Reading{Time: at, Gauge: "gauge", Value: v, Unit: unit, Flags: frame.FlagPress}
		require.NoError(p.t, p.Handle(device.Event{Kind: device.EventReading, Time: at, Gauge: "gauge", Reading: rd}))
	}
}

func TestOnePressIsOnePull(t *testing.T) {
	p := boltRound(t, &memoryStore{}, RoundConfig{})
	p.press("N·m", 29.4, 12, 29.6)
	require.Len(t, p.store.captures, 2, "a short pull is not taken")
	assert.Equal(t, 29.6, p.store.captures[1].Value)
	assert.Equal(t, testTime.Add(12*time.Second), p.store.captures[1].Time)
	assert.Equal(t, 6, p.store.captures[1].Position)
}

func TestOnePressIsOneLevel(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, HandsOff: true})
	levels := []float64{0, 0.02, 0.02, 0.03, 0.02, 0.01, -0.01, 0}
	p.press("mm", levels...)
	require.True(t, p.Done())
	for i, c := range p.store.captures {
		assert.Equal(t, i+1, c.Position)
		assert.Equal(t, levels[i], c.Value)
		assert.Equal(t, 1, c.N)
	}
}

func TestOnePressIsHeldForTheCommand(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace})
	p.press("mm", 0.01, 0.02)
	assert.Empty(t, p.store.captures)
	require.NoError(t, p.Command(CmdCapture))
	require.Len(t, p.store.captures, 1)
	assert.Equal(t, 0.02, p.store.captures[0].Value)
}

func TestOnePressIsOnePreload(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageCaps, Feature: record.FeaturePreloadTotal, Resolution: 0.01})
	p.press("N·m", 2.1)
	require.True(t, p.Done())
	c := p.store.captures[0]
	assert.Equal(t, 2.1, c.Value)
	// 1 % of 2.1 N·m and a step of 0.01, both rectangular (JCGM 100:2008, 4.3.7).
	assert.InDelta(t, math.Hypot(0.021/math.Sqrt(3), 0.01/math.Sqrt(12)), c.U, 1e-6)
	assert.Contains(t, c.Note, "running torque")
}

func TestPressesCannotRock(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{})
	p.press("mm", 0, 0.15, 0, 0.15)
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "sends at the press of its key")
}
