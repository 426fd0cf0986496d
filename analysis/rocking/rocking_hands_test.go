package rocking

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/internal/noted"
)

// handGauges are the gauges of the targets and those between them.
var handGauges = append(slices.Clone(gaugeClasses),
	gaugeClass{"0.005 mm, noise 1 µm", 0.005, 0.001, 0},
	gaugeClass{"0.002 mm, noise 0.5 µm", 0.002, 0.0005, 0},
	gaugeClass{"0.001 mm, still (0.2 count)", 0.001, 0.0002, 0},
)

// TestHands checks on 3,300 sound traces of what hands do that the stated
// uncertainty covers the truth, and that nothing sound is refused. It covers nearly
// all: springs stiffer than these cannot be told from a hand that brakes, and it
// allows for them.
func TestHands(t *testing.T) {
	const each = 300
	table := newTable(soundHead)
	var all tally
	for k, g := range handGauges {
		var c tally
		for i := range each {
			h := handTrace(uint64(10000*k+i), g.count, g.noise)
			s := h.make()
			b := Measure(s, Options{})
			c.add(s, b, h.Backlash)
			all.add(s, b, h.Backlash)
		}
		row(table, g.name, &c)
		assert.LessOrEqual(t, c.percent(c.refused), 2.0, "refused, %s", g.name)
		assert.LessOrEqual(t, c.percent(c.alarmed), 2.0, "false alarms, %s", g.name)
		assert.GreaterOrEqual(t, c.coverage(), 93.0, "coverage, %s", g.name)
	}
	row(table, "all", &all)
	assert.GreaterOrEqual(t, all.coverage(), 93.0)
	keep(t, "All hands", table)
}

func TestHandsFaults(t *testing.T) {
	gauges := []gaugeClass{
		{"0.001 mm, 2 µm", 0.001, 0.002, 0},
		{"0.001 mm, still", 0.001, 0.0002, 0},
		{"0.01 mm, 0.3 count", 0.01, 0.003, 0},
		{"0.01 mm, still", 0.01, 0.0002, 0},
	}
	faults := []analysis.Fault{analysis.UnitFlip, analysis.ZeroShift, analysis.PinionSlip, analysis.BaseCreep, analysis.OffGear, analysis.EndOfTravel, analysis.Frozen, analysis.Gaps}
	table := faultTable(t, faults, gauges, 4, func(seed uint64, g gaugeClass, f analysis.Fault) ([]analysis.Sample, float64) {
		h := faultyHand(seed, g.count, g.noise, f)
		return h.make(), h.Backlash
	})
	keep(t, "Faults with all hands", table)
}

// What gives way before the reading settles cannot be seen, so the stated
// uncertainty has to allow for it, however fast the spring.
func TestSpringsAreCovered(t *testing.T) {
	for _, spring := range []float64{0, 0.001, 0.002, 0.003} {
		for _, tau := range []float64{0.02, 0.03, 0.06, 0.15, 0.25} {
			var c tally
			for i := range 60 {
				h := handTrace(uint64(50000+i), 0.001, 0.001)
				h.Spring, h.Tau, h.Rocks = spring, tau, 6
				s := h.make()
				c.add(s, Measure(s, Options{}), h.Backlash)
			}
			least := 93.0
			if spring > 0.0025 {
				least = 65 // the far end of what is usual
			}
			assert.GreaterOrEqual(t, c.coverage(), least, "%v mm in %v s", spring, tau)
		}
	}
}

// Hands that scatter by 1.5 to 3 µm, as hands do, are not a pinion that slips,
// nor are their rocks too few.
func TestScatterIsNoFault(t *testing.T) {
	for _, gauge := range []gaugeClass{{"", 0.001, 0.001, 0}, {"", 0.01, 0.003, 0}} {
		for _, backlash := range []float64{0.08, 0.12, 0.15} {
			for _, scatter := range []float64{0.0015, 0.002, 0.003} {
				for _, rocks := range []int{3, 6} {
					var c tally
					for i := range 100 {
						h := handTrace(uint64(70000+i), gauge.count, gauge.noise)
						h.Backlash, h.Scatter, h.Rocks = backlash, scatter, rocks
						s := h.make()
						c.add(s, Measure(s, Options{}), backlash)
					}
					most := 2.0
					if rocks == 3 && scatter > 0.002 {
						most = 7 // three rocks do not tell a rough hand from a slip
					}
					assert.LessOrEqual(t, c.percent(c.refused), most, "refused: %v mm, backlash %v, scatter %v, %d rocks", gauge.count, backlash, scatter, rocks)
					assert.GreaterOrEqual(t, c.coverage(), 90.0, "coverage: %v mm, backlash %v, scatter %v, %d rocks", gauge.count, backlash, scatter, rocks)
				}
			}
		}
	}
}

// rested returns a trace of rests at the given levels, three strokes of equal
// steps between them, 10 readings a second.
func rested(levels ...float64) []analysis.Sample {
	var s []analysis.Sample
	add := func(x float64) { s = append(s, analysis.Sample{T: float64(len(s)) / 10, X: math.Round(1000*x) / 1000}) }
	for i, level := range levels {
		if i > 0 {
			for k := range 2 {
				add(levels[i-1] + (level-levels[i-1])*float64(k+1)/3)
			}
		}
		for range 5 {
			add(level)
		}
	}
	return s
}

func TestThreeStopsInARowAreNoSlip(t *testing.T) {
	b := Measure(rested(0, 0.115, 0.001, 0.123, 0, 0.126, 0.001), Options{})
	assert.NotContains(t, b.Faults, analysis.PinionSlip)
	b = Measure(rested(0, 0.115, 0.001, 0.116, 0, 0.156, 0.001, 0.157, 0), Options{})
	assert.Equal(t, []analysis.Fault{analysis.PinionSlip}, b.Faults)
}

// A pause on the way is no third level unless it is at one place again and again.
func TestPausesAreNoEndFloat(t *testing.T) {
	for _, g := range []gaugeClass{{"", 0.01, 0.002, 0}, {"", 0.0127, 0.003, 0}, {"", 0.01, 0.0002, 0}} {
		var c tally
		for i := range 150 {
			h := handTrace(uint64(80000+i), g.count, g.noise)
			h.Stick, h.Stroke, h.Rocks = true, 0.45, 6
			s := h.make()
			b := Measure(s, Options{})
			c.add(s, b, h.Backlash)
			if slices.Contains(b.Faults, analysis.EndFloat) {
				c.named++
			}
		}
		assert.LessOrEqual(t, c.named, 3, "of %d, %v mm", c.traces, g.count)
	}
}

// A digit that flickers before the base creeps on is no change of unit: a
// gauge that went over to inches counts far finer.
func TestFlickerIsNoUnitFlip(t *testing.T) {
	var s []analysis.Sample
	flick := func(n int, x float64) {
		for range n {
			s = append(s, analysis.Sample{T: float64(len(s)) / 500, X: x})
		}
	}
	flick(70, 0)
	for range 9 {
		flick(6, 0.005)
		flick(5, 0)
	}
	for i := range 6 {
		creep := 0.005 * float64(i)
		for _, level := range []float64{0.110, 0} {
			flick(10, 0.055+creep)
			flick(250, level+creep)
		}
	}
	b := Measure(s, Options{})
	assert.NotContains(t, b.Faults, analysis.UnitFlip)
	assert.Contains(t, b.Faults, analysis.BaseCreep)
}

// Four rests on one count of 0.001 mm are not the doing of a hand that scatters
// at the other stop.
func TestFourStopsAlikeAreRefused(t *testing.T) {
	b := Measure(rested(0, 0.095, 0.001, 0.095, 0, 0.095, 0.001, 0.095, 0), Options{})
	assert.Equal(t, []analysis.Fault{analysis.EndOfTravel}, b.Faults)
	assert.True(t, b.Refused)
	b = Measure(rested(0, 0.095, 0.001, 0.096, 0, 0.095, 0.001, 0.095, 0), Options{})
	assert.Empty(t, b.Faults)
	b = Measure(rested(0, 0.095, 0, 0.095, 0, 0.095, 0, 0.095, 0), Options{})
	assert.Empty(t, b.Faults, "nothing shows that the hand scatters at all")
	assert.NotNil(t, noted.Figures(b.Notes, analysis.MaybeEndOfTravel))
}

// Where a flat stop proves nothing it is at least pointed out.
func TestFlatStopIsPointedOut(t *testing.T) {
	missed, silent := 0, 0
	for i := range 60 {
		b := Measure(faultyHand(uint64(i), 0.005, 0.001, analysis.EndOfTravel).make(), Options{})
		if b.Refused {
			continue
		}
		missed++
		if noted.Figures(b.Notes, analysis.MaybeEndOfTravel) == nil {
			silent++
		}
	}
	require.Positive(t, missed)
	assert.LessOrEqual(t, silent, 3)
}

// A still reading on the edge between two counts does not show its noise, so
// the other stop must not be called flat by it.
func TestEdgeIsNoEndOfTravel(t *testing.T) {
	for _, g := range []gaugeClass{{"", 0.01, 0.001, 0}, {"", 0.0127, 0.001, 0}, {"", 0.01, 0.0002, 0}} {
		named := 0
		for i := range 200 {
			c := soundTrace(uint64(40000+i), g.count, g.noise)
			if slices.Contains(Measure(c.make(), Options{}).Faults, analysis.EndOfTravel) {
				named++
			}
		}
		assert.LessOrEqual(t, named, 2, "%v mm", g.count)
	}
}

// A USB bridge hands on what came in 16 ms at once, so several readings have
// the same time.
func TestReadingsInPackets(t *testing.T) {
	for _, rate := range []float64{100, 250, 300, 500, 1000} {
		for seed := range uint64(8) {
			c := handTrace(seed, 0.001, 0.001)
			c.Rate, c.Packet, c.Spring, c.Rocks = rate, 0.016, 0.0005, 5
			b := Measure(c.make(), Options{})
			require.False(t, b.Refused, "%v at %v Hz, seed %d", b.Faults, rate, seed)
			assert.InDelta(t, c.Backlash, b.Value, 0.006)
			assert.GreaterOrEqual(t, b.Rocks, 4)
		}
	}
}
