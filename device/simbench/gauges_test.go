package simbench

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	b.Do(PullBolt(50), PullBolt(95))
	vs := values(readings(t, b, b.Wrench, 400))
	low := slices.Index(vs, slices.Max(vs[:130]))
	assert.InDelta(t, 50, vs[low], 2.5)
	assert.InDelta(t, 95, slices.Max(vs), 4)
	assert.Less(t, vs[low+40], 1.0, "the bolt is let go")
	assert.Less(t, vs[399], 1.0)
}

func TestPinionBreaksAwayThenRuns(t *testing.T) {
	b := startBench(t, Config{Seed: 4})
	b.Do(PreloadTurn(5))
	vs := values(readings(t, b, b.Preload, 180))
	running := slices.Clone(vs[40:150])
	slices.Sort(running)
	median := running[len(running)/2]
	assert.InDelta(t, b.hands.gears.running(), median, 0.03)
	assert.InDelta(t, 1.5*median, slices.Max(vs), 0.25*median)
	assert.Less(t, vs[179], 0.1)
}

func TestBackFaceTurnsAsItsTruthSays(t *testing.T) {
	b := startBench(t, Config{Seed: 6})
	b.Do(Stand(BackFace), SteadyTurn(1))
	vs := values(readings(t, b, b.Indicator, secondsPerTurn*20))
	var truth []float64
	for deg := range 360 {
		truth = append(truth, b.hands.gears.face[BackFace].at(float64(deg)))
	}
	assert.InDelta(t, slices.Max(truth)-slices.Min(truth), slices.Max(vs)-slices.Min(vs), 0.012)
}

func TestAirLosesPressureByLeakAndCooling(t *testing.T) {
	b := startBench(t, Config{Seed: 4})
	assert.InDelta(t, 0, values(readings(t, b, b.Pressure, 1))[0], 0.5)
	b.Do(Pressurise(620))
	vs := values(readings(t, b, b.Pressure, 700))
	assert.InDelta(t, 620, slices.Max(vs), 1)
	late := (vs[500] - vs[699]) / (699 - 500) * 60 // cooled down
	assert.InDelta(t, b.hands.gears.leak, late, 0.1, "kPa a minute")
	early := (vs[20] - vs[80]) / (80 - 20) * 60
	assert.Greater(t, early, late+0.5, "cooling looks like a leak")
	rs := readings(t, b, b.Thermometer, 1)
	assert.Equal(t, "°C", rs[0].Unit)
	assert.InDelta(t, 20.5, rs[0].Value, 0.05)
}

func TestTimeWaitsForAllExpectedGauges(t *testing.T) {
	b := startBench(t, Config{Seed: 4})
	b.Expect(2)
	before := b.Now()
	first, _, err := b.Pressure.Open(t.Context())
	require.NoError(t, err)
	defer first.Close()
	require.NoError(t, first.SetReadTimeout(30*time.Millisecond))
	buf := make([]byte, 64)
	n, err := first.Read(buf)
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.Equal(t, before, b.Now())
	second, _, err := b.Thermometer.Open(t.Context())
	require.NoError(t, err)
	defer second.Close()
	require.NoError(t, first.SetReadTimeout(5*time.Second))
	n, err = first.Read(buf)
	require.NoError(t, err)
	assert.NotZero(t, n)
}
