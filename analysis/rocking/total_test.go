package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// rockedFor is one trace after another, so many rocks of each, a change of the reading
// between them as far as they go.
func rockedFor(parts ...rockTrace) (s []analysis.Sample) {
	end := 0.0
	for i, c := range parts {
		c.Seed, c.Hands, c.Rate, c.Resolution, c.Noise, c.Scatter, c.Dwell, c.Traverse = uint64(i), "scripted", 50, 0.001, 0.001, 0.001, 0.5, 0.25
		last := end
		for _, v := range c.make() {
			last = end + v.T + 0.02
			s = append(s, analysis.Sample{T: last, X: v.X})
		}
		end = last
	}
	return s
}

func leftOut(b Backlash) float64 {
	for _, n := range b.Notes {
		if n.Code == analysis.RestsLeftOut {
			return n.Args[0]
		}
	}
	return 0
}

// All of a long trace is used: what is no longer kept one by one counts as much as the
// newest rests, and the means are surer for more rocks.
func TestLongTraceIsUsedWhole(t *testing.T) {
	long := Measure(rockedFor(rockTrace{Backlash: 0.1500, Rocks: 300}, rockTrace{Backlash: 0.1540, Rocks: 100}), Options{})
	assert.Empty(t, long.Faults)
	assert.Zero(t, leftOut(long))
	assert.InDelta(t, 400, long.Rocks, 8)
	newest := Measure(rockedFor(rockTrace{Backlash: 0.1540, Rocks: 100}), Options{})
	assert.InDelta(t, 0.0030, newest.Value-long.Value, 0.0005, "three quarters are 0.004 mm less")
	assert.Less(t, long.OwnU, 0.7*newest.OwnU)
	assert.InDelta(t, 0.1510, long.HighStop-long.LowStop, 0.0005)
}

// Who moves an adjuster within the trace wants what the backlash is now.
func TestLongTraceOfAGearWorkedOn(t *testing.T) {
	b := Measure(rockedFor(rockTrace{Backlash: 0.25, Rocks: 200}, rockTrace{Backlash: 0.15, Rocks: 200}), Options{})
	assert.False(t, b.Refused)
	assert.InDelta(t, 0.15, b.Value, b.ExpandedUncertainty)
	assert.InDelta(t, 200, b.Rocks, 50)
	assert.InDelta(t, 400, leftOut(b), 80)
	just := Measure(rockedFor(rockTrace{Backlash: 0.25, Rocks: 200}, rockTrace{Backlash: 0.15, Rocks: 40}), Options{})
	assert.True(t, just.Refused || math.Abs(just.Value-0.15) < just.ExpandedUncertainty)
}

// Rests among which the base was bumped are left out, and said to be.
func TestLongTraceBumped(t *testing.T) {
	b := Measure(rockedFor(rockTrace{Backlash: 0.15, Rocks: 100}, rockTrace{Backlash: 0.15, Zero: 0.08, Rocks: 300}), Options{})
	assert.False(t, b.Refused)
	assert.InDelta(t, 0.15, b.Value, b.ExpandedUncertainty)
	assert.InDelta(t, 48, leftOut(b), 20)
}
