package dashboard

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/record"
)

func TestTraceSpan(t *testing.T) {
	for _, c := range []struct {
		name     string
		lo, hi   float64
		decimals int
		want     [2]float64
	}{
		{"rounded out", -0.012, 0.168, 3, [2]float64{-0.02, 0.18}},
		{"still gauge", 0.05, 0.05, 3, [2]float64{0.046, 0.054}},
		{"torque", 0, 97.8, 1, [2]float64{0, 100}},
		{"coarse gauge", 0.11, 0.13, 2, [2]float64{0.08, 0.16}},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := base(record.FeatureRunoutBackFace)
			v.Window = gum.Limits{Lower: math.NaN(), Upper: math.NaN()}
			v.Decimals = c.decimals
			v.Trace = []analysis.Sample{{T: -1, X: c.lo}, {T: 0, X: c.hi}}
			s := traceSpan(v)
			assert.InDelta(t, c.want[0], s.lo, 1e-9)
			assert.InDelta(t, c.want[1], s.hi, 1e-9)
		})
	}
}

func TestLiftedPlungerLeavesThePicture(t *testing.T) {
	v := measuringScene()
	still := traceSpan(v)
	v.Trace = slices.Clone(v.Trace)
	for i := range 40 {
		v.Trace[i+30].X = 3.7
	}
	assert.Equal(t, still, traceSpan(v), "with stops")
	v.Stops = nil
	assert.Less(t, traceSpan(v).hi, 1.0, "without")
}

// TestBendsKeepTheirShape follows one moment through two seconds of readings:
// it stands still, then moves left by whole cells, and never further than the
// time that has gone.
func TestBendsKeepTheirShape(t *testing.T) {
	v := base(record.FeatureBacklash)
	v.Trace = []analysis.Sample{{T: -12}, {T: 0}}
	pane := newCanvas(50, 4, false)
	first, moves, last := 0, 0, 0
	for i := range 200 {
		gone := float64(i) * 0.01
		v.At = sceneTime.Add(time.Duration(gone * float64(time.Second)))
		p := newPlot(pane, span{0, 1}, v)
		at := p.column(-1 - gone) // the same moment each time
		if i == 0 {
			first, last = at, at
		}
		if at != last {
			moves++
		}
		last = at
		moved := first - at
		assert.Equal(t, 0, moved%2, "by whole cells")
		assert.InDelta(t, gone/p.per, moved, 8)
		newest := p.column(0)
		assert.GreaterOrEqual(t, newest, 92, "now is near the right edge")
		assert.LessOrEqual(t, newest, 99)
	}
	assert.LessOrEqual(t, moves, 3, "it stands still most of the time")
}

func TestLimitsCountFromTheLowStop(t *testing.T) {
	v := measuringScene()
	at := traceWindow(v)
	assert.InDelta(t, -0.012+0.13, at[0], 1e-9)
	assert.InDelta(t, -0.012+0.18, at[1], 1e-9)
	v.Stops = nil
	assert.Empty(t, traceWindow(v), "no stop yet: the limits have no place")
	assert.Equal(t, []float64{1, 1.6}, traceWindow(preloadScene()))
	assert.Empty(t, traceWindow(leakScene()), "a rate has no place among pressures")
}

func TestGapStaysAGap(t *testing.T) {
	v := base(record.FeatureRunoutBackFace)
	v.Trace = []analysis.Sample{{T: -10, X: 0}, {T: -9.5, X: 0}, {T: -2, X: 0}, {T: 0, X: 0}}
	c := newCanvas(60, 3, false)
	newPlot(c, span{-1, 1}, v).curve(v.Trace)
	blank := 0
	for x := range c.w {
		if c.blank(x, 1, 1, 1) {
			blank++
		}
	}
	assert.Greater(t, blank, 30, "seven of twelve seconds hold no reading")
}

// The limit of a run-out lies above the lowest place of the round, also when that
// was turned past long ago.
func TestLimitOfARunoutIsFromItsLowestPlace(t *testing.T) {
	v := base(record.FeatureRunoutBackFace)
	v.Window.Lower, v.Window.Upper = math.NaN(), 0.08
	v.Trace = []analysis.Sample{{T: -1, X: 0.05}, {T: 0, X: 0.06}}
	assert.InDeltaSlice(t, []float64{0.13}, traceWindow(v), 1e-9)
	v.Round.N, v.Round.Tightest.Value = 3, 0.01
	assert.InDeltaSlice(t, []float64{0.09}, traceWindow(v), 1e-9)
}
