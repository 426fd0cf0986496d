package simbench

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/device"
)

func TestGarbledLinesAreNotReadings(t *testing.T) {
	b := startBench(t, Config{})
	b.Do(Garble(3))
	n, bad := 0, 0
	listen(t, b, b.Indicator, func(ev device.Event) bool {
		n++
		if ev.Kind == device.EventGarbled {
			bad++
		}
		return n < 30
	})
	assert.Equal(t, 3, bad)
}

func TestZeroPressedShiftsEverythingAfter(t *testing.T) {
	b := startBench(t, Config{Seed: 2})
	before := values(readings(t, b, b.Indicator, 10))
	b.Do(PressZero())
	after := values(readings(t, b, b.Indicator, 10))
	assert.InDelta(t, 0, after[5], 0.01)
	assert.Greater(t, max(before[5]-after[5], after[5]-before[5]), 0.02)
}

func TestUnitButtonChangesWordAndScale(t *testing.T) {
	b := startBench(t, Config{Seed: 2})
	before := readings(t, b, b.Indicator, 5)[4]
	b.Do(PressUnit())
	after := readings(t, b, b.Indicator, 5)[4]
	assert.Equal(t, []string{"mm", "in"}, []string{before.Unit, after.Unit})
	assert.InDelta(t, before.Value, after.Value*25.4, 0.01)
}

func TestSlippingPinionWalksOneStop(t *testing.T) {
	b := startBench(t, Config{Seed: 2})
	b.Do(Rock())
	first := values(readings(t, b, b.Indicator, 100))
	b.Do(SlipPinion(0.01))
	readings(t, b, b.Indicator, 200)
	last := values(readings(t, b, b.Indicator, 100))
	assert.InDelta(t, slices.Min(first), slices.Min(last), 0.01)
	assert.Greater(t, slices.Max(last), slices.Max(first)+0.03)
}
