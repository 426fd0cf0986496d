package rocking

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// A rockWave is a third kind of simulated rocking, in closed form: a periodic
// shape, and a fault as a function of time. It shares nothing with rockTrace.
type rockWave struct {
	rate, period, rocks float64
	count, noise        float64
	size, zero          float64
	lead                float64                     // s of rest before and after
	shape               func(phase float64) float64 // -1..1
	spoil               func(w *rockWave, u waveMoment) (x float64, ok bool)
	unit                func(share float64) float64 // scale of the reading over the trace
}

// A waveMoment is one instant: share of the trace gone, share of the swing,
// the reading without and with noise.
type waveMoment struct{ t, gone, part, x, noisy float64 }

func (w *rockWave) make(rng *rand.Rand) []analysis.Sample {
	end := 2*w.lead + w.rocks*w.period
	var s []analysis.Sample
	for t := 0.0; t < end; t += 1 / w.rate {
		if rng.Float64() < 0.02 {
			continue
		}
		phase := 2*math.Pi*math.Max(0, math.Min(t-w.lead, w.rocks*w.period))/w.period - math.Pi/2
		u := waveMoment{t: t, gone: t / end, part: (w.shape(phase) + 1) / 2}
		u.x = w.zero + w.size*u.part
		u.noisy = u.x + w.noise*rng.NormFloat64()
		x, ok := u.noisy, true
		if w.spoil != nil {
			x, ok = w.spoil(w, u)
		}
		q := w.count
		if w.unit != nil {
			k := w.unit(u.gone)
			x *= k
			if k < 1 {
				q /= 20 // a gauge of 0.01 mm counts 0.0005 in
			}
		}
		if ok {
			s = append(s, analysis.Sample{T: t, X: math.Round(x/q) * q})
		}
	}
	return s
}

// flat is a sine with its tops cut off: ramps and rests.
func flat(phase float64) float64 { return math.Max(-1, math.Min(1, 1.8*math.Sin(phase))) }

func newWave(rng *rand.Rand) *rockWave {
	w := &rockWave{
		rate: pick(rng, 20.0, 50, 100), period: 1.6 + 0.8*rng.Float64(), rocks: 6, count: 0.001, noise: 0.002,
		size: 0.1 + 0.2*rng.Float64(), zero: 0.4*rng.Float64() - 0.2, shape: flat,
	}
	if rng.IntN(2) == 0 {
		w.count, w.noise = 0.01, 0.003
	}
	return w
}

// late adds by to the reading from the middle of the trace on.
func late(by float64) func(*rockWave, waveMoment) (float64, bool) {
	return func(_ *rockWave, u waveMoment) (float64, bool) {
		if u.gone > 0.5 {
			return u.noisy + by, true
		}
		return u.noisy, true
	}
}

func TestRockingWaves(t *testing.T) {
	tests := []struct {
		name   string
		change func(*rockWave)
		want   analysis.Fault
	}{
		{"flattened sine", func(*rockWave) {}, ""},
		{"rounded", func(w *rockWave) {
			w.shape = func(p float64) float64 { return math.Tanh(6 * math.Sin(p)) }
		}, ""},
		{"4 a second", func(w *rockWave) { w.rate, w.period = 4, 3 }, ""},
		{"1000 a second", func(w *rockWave) { w.rate = 1000 }, ""},
		{"long rests around it", func(w *rockWave) { w.lead = 6 }, ""},
		{"three rocks", func(w *rockWave) { w.rocks = 3.3 }, ""},
		{"two rocks", func(w *rockWave) { w.rocks = 2 }, analysis.TooFewRocks},
		{"sine", func(w *rockWave) { w.shape, w.period = math.Sin, 1.2 }, analysis.NoDwell},
		{"triangle", func(w *rockWave) {
			w.shape = func(p float64) float64 { return 2 / math.Pi * math.Asin(math.Sin(p)) }
		}, analysis.NoDwell},
		{"high stop steps", func(w *rockWave) {
			w.spoil = func(_ *rockWave, u waveMoment) (float64, bool) {
				if u.gone > 0.5 {
					return u.noisy + 0.05*u.part, true
				}
				return u.noisy, true
			}
		}, analysis.PinionSlip},
		{"low stop drifts", func(w *rockWave) {
			w.spoil = func(_ *rockWave, u waveMoment) (float64, bool) { return u.noisy - 0.06*(1-u.part)*u.gone, true }
		}, analysis.PinionSlip},
		{"base creeps", func(w *rockWave) {
			w.spoil = func(_ *rockWave, u waveMoment) (float64, bool) { return u.noisy + 0.04*u.gone, true }
		}, analysis.BaseCreep},
		{"bumped", func(w *rockWave) { w.spoil = late(0.04) }, analysis.ZeroShift},
		{"zero pressed", func(w *rockWave) { w.zero, w.spoil = 4, late(-4.1) }, analysis.ZeroShift},
		{"lifted and back", func(w *rockWave) {
			w.spoil = func(_ *rockWave, u waveMoment) (float64, bool) {
				if u.gone > 0.5 && u.gone < 0.6 {
					return 4, true
				}
				return u.noisy, true
			}
		}, analysis.OffGear},
		{"fallen off at the end", func(w *rockWave) {
			w.spoil = func(_ *rockWave, u waveMoment) (float64, bool) {
				if u.gone > 0.85 {
					return -2, true
				}
				return u.noisy, true
			}
		}, analysis.OffGear},
		{"every other high stop further out", func(w *rockWave) {
			w.spoil = func(w *rockWave, u waveMoment) (float64, bool) {
				if int(u.t/w.period)%2 == 1 {
					return u.noisy + 0.35*w.size*u.part, true
				}
				return u.noisy, true
			}
		}, analysis.EndFloat},
		{"end of travel", func(w *rockWave) {
			w.count, w.noise = 0.001, 0.002
			w.spoil = func(w *rockWave, u waveMoment) (float64, bool) {
				return math.Min(u.noisy, w.zero+0.7*w.size), true
			}
		}, analysis.EndOfTravel},
		{"value held to the end", func(w *rockWave) {
			stuck := math.NaN()
			w.spoil = func(_ *rockWave, u waveMoment) (float64, bool) {
				if u.gone < 0.6 {
					return u.noisy, true
				}
				if math.IsNaN(stuck) {
					stuck = u.noisy
				}
				return stuck, true
			}
		}, analysis.Frozen},
		{"a silence", func(w *rockWave) {
			w.spoil = func(_ *rockWave, u waveMoment) (float64, bool) { return u.noisy, u.gone < 0.5 || u.gone > 0.65 }
		}, analysis.Gaps},
		{"inch pressed", func(w *rockWave) {
			w.unit = func(gone float64) float64 {
				if gone > 0.5 {
					return 1 / 25.4
				}
				return 1
			}
		}, analysis.UnitFlip},
		{"inch gauge turned to mm", func(w *rockWave) {
			w.unit = func(gone float64) float64 {
				if gone > 0.5 {
					return 25.4
				}
				return 1
			}
		}, analysis.UnitFlip},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			const each = 25
			right := 0
			for seed := range uint64(each) {
				rng := rand.New(rand.NewPCG(seed, 5))
				w := newWave(rng)
				tt.change(w)
				b := Measure(w.make(rng), Options{})
				if slices.Contains(b.Faults, tt.want) || tt.want == "" && len(b.Faults) == 0 {
					right++
				}
				if !b.Refused {
					assert.InDelta(t, w.size, b.Value, 0.01, "%v", b.Faults)
				}
			}
			assert.GreaterOrEqual(t, right, each-1, "of %d", each)
		})
	}
}

// The first rock seats film and rollers; when it differs it is left out.
func TestFirstRockIsSetAside(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	w := newWave(rng)
	w.count, w.noise = 0.001, 0.002
	w.spoil = func(w *rockWave, u waveMoment) (float64, bool) {
		if u.t < w.period {
			return u.noisy - 0.03*u.part, true
		}
		return u.noisy, true
	}
	b := Measure(w.make(rng), Options{})
	assert.InDelta(t, w.size, b.Value, 0.003)
	assert.Empty(t, b.Faults)
	assert.Contains(t, b.Notes, analysis.FirstRockAside.Of())
}
