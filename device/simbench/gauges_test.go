package simbench

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTextOfAReading(t *testing.T) {
	for _, c := range []struct {
		x, resolution float64
		plus          bool
		want          string
	}{
		{0.1234, 0.001, true, "+0.123"},
		{-0.1236, 0.001, true, "-0.124"},
		{-0.0001, 0.001, true, "+0.000"},
		{0.1234, 0.01, true, "+0.12"},
		{0.12363, 0.0005, true, "+0.1235"},
		{97.84, 0.1, false, "97.8"},
		{-0.03, 0.1, false, "0.0"},
		{1234, 10, false, "1230"},
	} {
		assert.Equal(t, c.want, text(c.x, c.resolution, c.plus))
	}
}

func TestWrenchClicksNearItsSetting(t *testing.T) {
	b := startBench(t, Config{Seed: 4})
	b.Do(PullBolt(95), PullBolt(95))
	// Bolts pulled while nobody listened are done with.
	assert.Less(t, slices.Max(values(readings(t, b, b.Wrench(), 50))), 1.0)
}

func TestPressureIsSilentUntilFilled(t *testing.T) {
	b := startBench(t, Config{Seed: 4})
	assert.InDelta(t, 0, values(readings(t, b, b.Pressure(), 1))[0], 0.5)
	b.Do(Pressurise(620))
	vs := values(readings(t, b, b.Pressure(), 700))
	assert.InDelta(t, 620, slices.Max(vs), 5)
	lost := (vs[150] - vs[699]) / (699 - 150) * 60
	assert.InDelta(t, 0.3, lost, 0.25, "kPa a minute")
}
