package rocking

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// The detector was not tuned on these: other seeds of the models of hand and gauge,
// and a bench of its own, a wheel that a hand drags between two stops of Hertz's law,
// read through an indicator of second order with play. It moved one figure: a stop
// that gives way as quickly as the hand moves is why UnseenDoubt is the least. The
// figures of accuracy.md are those of the seeds tuned on.

const heldOut = 1 << 20 // added to a seed

func TestHeldOutModels(t *testing.T) {
	const each = 50
	silent, covered, given, refused, sound, named, faulty := 0, 0, 0, 0, 0, 0, 0
	for _, m := range handModels {
		lags, never := m.name[:3] == "lag" || m.name == "mean of 8 at 10 Hz", m.fault == analysis.NoDwell
		for gi, g := range modelGauges {
			if lags || never || m.fault != "" && undecidable(m.fault, g) {
				continue // what the readings do not hold
			}
			for i := range each {
				seed := uint64(heldOut + 1000*gi + i)
				rng := rand.New(rand.NewPCG(seed, 2718))
				c := usualScene(rng, g)
				m.change(rng, &c)
				b := Measure(c.make(seed), Options{})
				off := math.Abs(b.Value - c.backlash)
				if off > math.Max(0.01, b.ExpandedUncertainty) && len(b.Faults) == 0 {
					silent++
				}
				if m.fault != "" {
					faulty++
					if slices.Contains(b.Faults, m.fault) {
						named++
					}
					continue
				}
				sound++
				if b.Refused {
					refused++
					continue
				}
				given++
				if off <= b.ExpandedUncertainty {
					covered++
				}
			}
		}
	}
	percent := func(n, of int) float64 { return 100 * float64(n) / float64(of) }
	t.Logf("silently wrong %.1f %%, covered %.1f %%, refused %.1f %%, named %.1f %%",
		percent(silent, sound+faulty), percent(covered, given), percent(refused, sound), percent(named, faulty))
	assert.LessOrEqual(t, percent(silent, sound+faulty), 1.0, "silently wrong")
	assert.GreaterOrEqual(t, percent(covered, given), 93.0, "covered")
	assert.LessOrEqual(t, percent(refused, sound), 2.0, "refused")
	assert.GreaterOrEqual(t, percent(named, faulty), 95.0, "named")
}

// A draggedWheel is the bench of its own. All of it is invented; the truth is
// backlash, the distance of the stops before anything gives way.
type draggedWheel struct {
	backlash, rate, count, noise float64
	stiff                        float64 // mm of give under the full push, by Hertz's law
	reach                        float64 // s in which the hand turns its push over
	hold                         float64 // s for which it pushes
	play                         float64 // of the indicator's train: it follows so far behind
	drift, bump                  float64 // of the base, over the trace and from the middle on
	slip                         float64 // of the high stop from the middle on
}

func (c draggedWheel) make(rng *rand.Rand, rocks int) []analysis.Sample {
	const dt = 0.0002
	var s []analysis.Sample
	x, push, shown, speed, next := 0.0, -1.0, 0.0, 0.0, 0.0
	follow := x
	end := float64(2*rocks+1) * c.hold
	low, high, turns := 0.0, c.backlash, 0
	for t := 0.0; t < end; t += dt {
		if n := int(t / c.hold); n > turns { // another stop, found a little elsewhere
			turns = n
			if n%2 == 1 {
				high = c.backlash + 0.001*rng.NormFloat64()
			} else {
				low = 0.001 * rng.NormFloat64()
			}
			if t > end/2 {
				high += c.slip
			}
		}
		push += (float64(2*(turns%2)-1) - push) * dt / c.reach
		// A film between the teeth drags: the wheel goes as fast as it is pushed, until
		// the stop takes the push. The equilibrium there is Hertz's: force as give^1.5.
		x += push * c.backlash / 0.15 * dt
		give := c.stiff * math.Pow(math.Abs(push), 2.0/3)
		x = math.Max(low-give*math.Max(0, -push), math.Min(high+give*math.Max(0, push), x))
		if x-follow > c.play {
			follow = x - c.play
		} else if follow-x > c.play {
			follow = x + c.play
		}
		const w = 2 * math.Pi * 25 // 25 Hz, damped by 0.7
		speed += (w*w*(follow-shown) - 1.4*w*speed) * dt
		shown += speed * dt
		if t >= next {
			next += (1 + 0.1*(rng.Float64()-0.5)) / c.rate
			v := shown + c.drift*t/end + c.noise*rng.NormFloat64() + 0.37*c.count
			if t > end/2 {
				v += c.bump
			}
			s = append(s, analysis.Sample{T: t, X: math.Floor(v/c.count) * c.count})
		}
	}
	return s
}

func drawWheel(rng *rand.Rand) draggedWheel {
	count := pick(rng, 0.001, 0.002, 0.01)
	return draggedWheel{
		backlash: 0.09 + 0.15*rng.Float64(), rate: pick(rng, 15.0, 30, 60, 120, 240), count: count,
		noise: count * pick(rng, 0.4, 0.8), stiff: 0.003 * rng.Float64(), play: pick(rng, 0, 0.0003),
		reach: 0.03 + 0.05*rng.Float64(), hold: 0.8 + 0.5*rng.Float64(),
	}
}

func TestHeldOutBench(t *testing.T) {
	tests := []struct {
		name   string
		change func(*draggedWheel)
		want   analysis.Fault
	}{
		{"sound", func(*draggedWheel) {}, ""},
		{"base creeps", func(c *draggedWheel) { c.drift = 0.4 * c.backlash }, analysis.BaseCreep},
		{"bumped", func(c *draggedWheel) { c.bump = -0.06 }, analysis.ZeroShift},
		{"pinion slips", func(c *draggedWheel) { c.slip = 0.4 * c.backlash }, analysis.PinionSlip},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			const each = 60
			right, covered, given := 0, 0, 0
			var errors []float64
			for i := range each {
				rng := rand.New(rand.NewPCG(uint64(2*heldOut+i), 31))
				c := drawWheel(rng)
				tt.change(&c)
				b := Measure(c.make(rng, 6), Options{})
				if slices.Contains(b.Faults, tt.want) || tt.want == "" && len(b.Faults) == 0 {
					right++
				}
				if !b.Refused {
					given++
					errors = append(errors, math.Abs(b.Value-c.backlash))
					if errors[given-1] <= b.ExpandedUncertainty {
						covered++
					}
				}
			}
			assert.GreaterOrEqual(t, 100*right, 95*each, "named")
			if tt.want == "" || tt.want == analysis.BaseCreep {
				t.Logf("%d of %d right, %d of %d covered, 95th percentile %.4f mm", right, each, covered, given, at(errors, 0.95))
				assert.GreaterOrEqual(t, 100*covered, 93*given, "covered")
			} else {
				assert.LessOrEqual(t, given, each/20, "a value in spite of it")
			}
		})
	}
}
