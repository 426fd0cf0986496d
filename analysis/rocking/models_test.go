package rocking

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// The shapes of a stroke: share of the way over share of the time.
var strokeShapes = []func(u float64) float64{
	func(u float64) float64 { return u },
	func(u float64) float64 { return (1 - math.Cos(math.Pi*u)) / 2 },
	func(u float64) float64 { return u * u * (3 - 2*u) },
	func(u float64) float64 { return 1 - (1-u)*(1-u) },       // brakes all the way
	func(u float64) float64 { return math.Min(1, 1.15*u*u) }, // runs into the stop
}

// usualScene draws six rocks of a usual hand, springs of up to 3 µm included.
func usualScene(rng *rand.Rand, g gaugeClass) scene {
	c := scene{
		backlash: 0.08 + 0.2*rng.Float64(), zero: pick(rng, 0, 0.4, -1.3, 5) * rng.Float64(), invert: rng.IntN(2) == 0,
		rocks: 6, dwell: [2]float64{0.4, 0.9}, stroke: [2]float64{0.15, 0.4}, shape: pick(rng, strokeShapes...),
		scatter: 0.0003 + 0.0017*rng.Float64(), give: 0.003 * rng.Float64(), giveTau: 0.02 * math.Pow(10, rng.Float64()),
		rate: pick(rng, 10.0, 20, 50, 100, 200), jitter: pick(rng, 0, 0.2), count: g.count, noise: g.noise,
	}
	if c.rate < 15 {
		c.dwell = [2]float64{0.6, 1.1}
	}
	return c
}

var modelGauges = []gaugeClass{
	{"0.001 mm, 0.3 µm", 0.001, 0.0003, 0},
	{"0.001 mm, 2 µm", 0.001, 0.002, 0},
	{"0.01 mm, 0.3 count", 0.01, 0.003, 0},
	{"0.01 mm, still", 0.01, 0.0002, 0},
}

// A handModel is one thing that hands, stops or gauges do.
type handModel struct {
	name   string
	fault  analysis.Fault // "": none, the value is wanted
	change func(rng *rand.Rand, c *scene)
}

func sign(rng *rand.Rand) float64 { return pick(rng, -1.0, 1) }

var handModels = []handModel{
	{"usual", "", func(*rand.Rand, *scene) {}},
	{"slow strokes, 0.5 to 0.9 s", "", func(_ *rand.Rand, c *scene) { c.stroke = [2]float64{0.5, 0.9} }},
	{"hard stops", "", func(_ *rand.Rand, c *scene) { c.give = 0 }},
	{"stiff springs, 3 to 6 µm in 0.03 s", "", func(rng *rand.Rand, c *scene) { c.give, c.giveTau = 0.003+0.003*rng.Float64(), 0.03 }},
	{"creep, 5 to 10 µm in 0.3 to 1 s", "", func(rng *rand.Rand, c *scene) {
		c.give, c.giveTau = 0.005+0.005*rng.Float64(), 0.3+0.7*rng.Float64()
	}},
	{"film, 5 to 20 µm in 0.1 to 0.4 s", "", func(rng *rand.Rand, c *scene) {
		c.film, c.filmTau, c.dwell = 0.005+0.015*rng.Float64(), 0.1+0.3*rng.Float64(), [2]float64{0.7, 1.4}
	}},
	{"lag 0.03 to 0.15 s", "", func(rng *rand.Rand, c *scene) { c.lag = 0.03 + 0.12*rng.Float64() }},
	{"lag 0.15 to 0.5 s", "", func(rng *rand.Rand, c *scene) { c.lag, c.dwell = 0.15+0.35*rng.Float64(), [2]float64{0.6, 1.4} }},
	{"lag 0.2 s", "", func(_ *rand.Rand, c *scene) { c.lag = 0.2 }},
	{"mean of 8 at 10 Hz", "", func(rng *rand.Rand, c *scene) {
		c.average, c.rate = 8, 10
		long := 0.5 + rng.Float64()
		c.dwell = [2]float64{long, long + 0.3}
	}},
	{"mean of 4", "", func(_ *rand.Rand, c *scene) { c.average = 4 }},
	{"base nudged by 1 count", "", func(_ *rand.Rand, c *scene) { c.nudge, c.dwell = c.count, [2]float64{0.7, 1.2} }},
	{"base nudged by 5 counts", "", func(_ *rand.Rand, c *scene) { c.nudge, c.dwell = 5*c.count, [2]float64{0.7, 1.2} }},
	{"one wild reading on the way", "", func(_ *rand.Rand, c *scene) { c.wild = 1 }},
	{"one wild reading at rest", "", func(_ *rand.Rand, c *scene) { c.wild, c.wildAt = 1, true }},
	{"pauses on the way", "", func(_ *rand.Rand, c *scene) { c.pause, c.pauseFor = 0.4, [2]float64{0.05, 0.4} }},
	{"long pauses on the way", "", func(_ *rand.Rand, c *scene) { c.pause, c.pauseFor = 0.5, [2]float64{0.25, 0.6} }},
	{"bursts of 8 to 16", "", func(rng *rand.Rand, c *scene) { c.burst, c.rate = 8+rng.IntN(9), pick(rng, 100.0, 200) }},
	{"sends on change", "", func(_ *rand.Rand, c *scene) { c.change = true }},
	{"coarse stamps after a stall", "", func(rng *rand.Rand, c *scene) { c.stall, c.rate = 0.2+0.3*rng.Float64(), pick(rng, 50.0, 100, 200) }},
	{"carrier floats", analysis.EndFloat, func(rng *rand.Rand, c *scene) { c.float = 0.35 + 0.3*rng.Float64() }},
	{"pinion slips", analysis.PinionSlip, func(rng *rand.Rand, c *scene) { c.slip = sign(rng) * c.backlash * (0.3 + 0.4*rng.Float64()) }},
	{"base creeps", analysis.BaseCreep, func(rng *rand.Rand, c *scene) {
		c.drift = sign(rng) * math.Max(0.02, c.backlash*(0.15+0.5*rng.Float64()))
	}},
	{"bumped", analysis.ZeroShift, func(rng *rand.Rand, c *scene) {
		c.bump = sign(rng) * math.Max(0.03, c.backlash*(0.3+0.5*rng.Float64()))
	}},
	{"unit flips", analysis.UnitFlip, func(rng *rand.Rand, c *scene) { c.scale = pick(rng, 25.4, 1/25.4) }},
	{"lifted for 2 s", analysis.OffGear, func(rng *rand.Rand, c *scene) { c.lift = sign(rng) * (1 + 4*rng.Float64()) }},
	{"end of travel", analysis.EndOfTravel, func(rng *rand.Rand, c *scene) { c.clip = 0.5 + 0.3*rng.Float64() }},
	{"held", analysis.Frozen, func(_ *rand.Rand, c *scene) { c.freeze = 2.5 * (c.dwell[1] + c.stroke[1]) }},
	{"silent", analysis.Gaps, func(_ *rand.Rand, c *scene) { c.silence = 2.5 * (c.dwell[1] + c.stroke[1]) }},
	{"never rests", analysis.NoDwell, func(_ *rand.Rand, c *scene) {
		c.dwell, c.stroke, c.shape, c.rate = [2]float64{0, 0.001}, [2]float64{0.4, 0.7}, strokeShapes[1], math.Max(c.rate, 20)
	}},
	{"two rocks", analysis.TooFewRocks, func(_ *rand.Rand, c *scene) { c.rocks = 2 }},
}

const modelHead = "|Model|Gauge|Silently wrong|Covered|Refused|Faults|Named|95th percentile|Mean U|\n|---|---|--:|--:|--:|--:|--:|--:|--:|\n"

// TestModels asks on every model whether the value is right within its
// uncertainty, flagged or refused. Silently wrong is a value without a fault that
// is off by more than both U and 0.01 mm.
func TestModels(t *testing.T) {
	const each = 100
	table := newTable(modelHead)
	for _, m := range handModels {
		for gi, g := range modelGauges {
			silent, covered, given, refused, faulty, named, stated := 0, 0, 0, 0, 0, 0, 0.0
			var errors []float64
			for i := range each {
				seed := uint64(1000*gi + i)
				rng := rand.New(rand.NewPCG(seed, 2718))
				c := usualScene(rng, g)
				m.change(rng, &c)
				b := Measure(c.make(seed), Options{})
				if len(b.Faults) > 0 {
					faulty++
				}
				if slices.Contains(b.Faults, m.fault) {
					named++
				}
				if b.Refused {
					refused++
					continue
				}
				e := math.Abs(b.Value - c.backlash)
				errors = append(errors, e)
				given++
				stated += b.ExpandedUncertainty
				switch {
				case e <= b.ExpandedUncertainty:
					covered++
				case e > 0.01 && len(b.Faults) == 0:
					silent++
				}
			}
			if given == 0 {
				errors, given = []float64{math.NaN()}, 1
			}
			// What the readings do not hold: a spring that is done before the wheel is at
			// rest, a clipped stop below a count, more lag than the rests are long.
			if lost := strings.HasPrefix(m.name, "stiff") || strings.HasPrefix(m.name, "lag") || m.fault != "" && undecidable(m.fault, g) || m.fault == analysis.NoDwell; !lost {
				assert.LessOrEqual(t, silent, 2, "silently wrong: %s, %s", m.name, g.name)
				if m.fault == "" {
					assert.GreaterOrEqual(t, 100*covered, 93*given, "covered: %s, %s", m.name, g.name)
				}
			}
			percent := func(n, of int) string { return fmt.Sprintf("%.0f %%", 100*float64(n)/float64(of)) }
			fmt.Fprintf(table, "|%s|%s|%s|%s|%s|%s|%s|%.4f|%.4f|\n", m.name, g.name, percent(silent, each), percent(covered, given),
				percent(refused, each), percent(faulty, each), percent(named, each), at(errors, 0.95), stated/float64(given))
		}
	}
	keep(t, "Models of hand and gauge", table)
}
