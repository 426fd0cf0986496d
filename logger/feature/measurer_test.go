package feature

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

var testTime = time.Date(2026, 3, 4, 9, 30, 0, 123456789, time.UTC)

// A stand works a measurer without a round: it follows what the measurer wants
// as far as the next step can tell.
type stand struct {
	Measurer
	name   string
	at     At
	sheet  sheet.Sheet
	visits []Visit
	there  []bool // a visit has its capture
	taken  []record.Capture
	shown  string  // the fault or the line that is shown
	asked  float64 // the doubted value that waits to be given again
	rings  int     // faults so far
	faults map[analysis.Fault]int
	stops  int
	rocks  int
}

func newStand(name string, change func(s *Setup), whole bool) *stand {
	sheet, f := sheet.Example(), table[name]
	s := Setup{Sheet: sheet, Of: f, HandsOff: true}
	change(&s)
	s.Positions, s.Spec = Positions(s.Sheet, name), s.Sheet.Window(name)
	if whole && f.AsWhole != nil {
		s.Positions = []record.Position{WholeFeature(name)}
	}
	d := &stand{Measurer: f.NewMeasurer(s, whole), name: name, sheet: s.Sheet, visits: f.VisitsOf(s.Sheet, s.Positions), faults: make(map[analysis.Fault]int)}
	d.there, d.asked = make([]bool, len(d.visits)), math.NaN()
	d.at = At{Start: testTime, Now: testTime, Digits: 2, Decimals: 2}
	d.at.Visit = d.visits[0]
	d.enter(0)
	d.at.Moving = false // nothing was read yet
	return d
}

func (d *stand) enter(k int) {
	d.at.From, d.at.Index, d.at.Visit = d.at.Visit, k, d.visits[k]
	d.at.Captured, d.at.Done, d.at.Moving, d.shown = d.there[k], false, true, ""
	d.findNext()
	d.Step(d.at, Input{Kind: Enter})
}

// findNext looks for the next visit without a capture, going round.
func (d *stand) findNext() {
	d.at.NextIndex = -1
	for i := range d.visits {
		if k := (d.at.Index + 1 + i) % len(d.visits); !d.there[k] {
			d.at.Next, d.at.NextIndex = d.visits[k], k
			return
		}
	}
}

// capture stores what was taken, as a round does.
func (d *stand) capture(c record.Capture) {
	c.Position, c.AngleDeg = d.at.Position.Index, d.at.Position.AngleDeg
	d.taken = append(d.taken, c)
	d.there[d.at.Index] = true
	d.at.Captured, d.at.First = true, testTime
	d.at.Mean, d.at.N = (d.at.Mean*float64(d.at.N)+c.Value)/float64(d.at.N+1), d.at.N+1
	d.at.Moving, d.shown = false, ""
	d.findNext()
	d.Step(d.at, Input{Kind: Stored, Value: c.Value})
	if d.at.Done = d.at.NextIndex < 0; d.at.Done {
		d.Step(d.at, Input{Kind: Reset})
	}
}

// step gives one input and follows its effects, which it returns.
func (d *stand) step(in Input) []Effect {
	if in.Kind == Reading {
		d.at.T, d.at.Now = in.Sample.T, testTime.Add(time.Duration(in.Sample.T*float64(time.Second)))
	}
	effects := d.Step(d.at, in)
	doubt := ""
	for _, e := range effects {
		switch e := e.(type) {
		case Doubt:
			doubt = string(e)
		case Captured:
			if doubt != "" && d.asked != e.Value {
				d.asked, d.shown, d.rings = e.Value, doubt, d.rings+1
				return effects
			}
			d.asked = math.NaN()
			d.capture(record.Capture(e))
		case Advance:
			if d.at.NextIndex >= 0 {
				d.enter(d.at.NextIndex)
			}
		case GoTo:
			d.enter(e.Index)
			d.at.Captured = false
		case Moving:
			d.at.Moving = true
		case Measuring:
			d.at.Moving = false
		case Fault:
			d.shown, d.rings = e.Text, d.rings+1
			d.faults[e.Fault]++
		case Warn:
			d.shown = string(e)
		case Clear:
			d.shown = ""
		case Stop:
			d.stops++
		case Rock:
			d.rocks++
			d.at.Moving = false
			if e.Sound {
				d.shown = ""
			}
		case Block:
			return effects
		}
	}
	return effects
}

// ways are the setups that a measurer is made for.
var ways = map[string]func(s *Setup){
	"gauge": func(*Setup) {},
	"keyed": func(s *Setup) { s.Keyed = true },
	"piped": func(s *Setup) { s.Keyed, s.Piped = true, true },
	"byKey": func(s *Setup) { s.ByKey, s.HandsOff, s.Resolution = true, false, 0.01 },
	"alone": func(s *Setup) { s.NoKeys, s.Override, s.Resolution = true, "worn out", 0.001 },
}

// TestMeasurersTakeAnything drives every measurer with every kind of input in
// random order: it answers with what its input may have as effects, and a
// capture has a value or a quality that says why not.
func TestMeasurersTakeAnything(t *testing.T) {
	for _, name := range record.Features() {
		for way, change := range ways {
			for seed := range uint64(2) {
				t.Run(fmt.Sprintf("%s-%s-%d", name, way, seed), func(t *testing.T) {
					rng := rand.New(rand.NewPCG(seed, 5))
					d := newStand(name, change, seed == 1 && way == "gauge")
					now := 0.0
					for range 30 {
						kind := InputKind(1 + rng.IntN(int(NotStored)))
						if kind == Reading {
							now = d.someReadings(t, rng, now)
							continue
						}
						in := Input{Kind: kind, Value: rng.NormFloat64() * 100, Unit: []string{"", "mm", "kPa", "min", "N·m", tryLocked, tryFreed}[rng.IntN(7)]}
						effects := d.step(in)
						if kind >= Enter {
							assert.Nil(t, effects, "what is only told")
						}
						checkEffects(t, d, effects)
					}
				})
			}
		}
	}
}

// someReadings rests at a level and swings to another and back for a while.
func (d *stand) someReadings(t *testing.T, rng *rand.Rand, now float64) float64 {
	low, high := rng.NormFloat64(), []float64{0.2, 3, 100, 700}[rng.IntN(4)]*rng.Float64()
	for i := range rng.IntN(300) {
		x := low
		if i/60%2 == 1 {
			x = high
		}
		now += []float64{0.01, 0.01, 0.01, 2}[rng.IntN(4)]
		in := Input{Kind: Reading, Sample: analysis.Sample{T: now, X: x}, Unit: "mm"}
		if rng.IntN(200) == 0 {
			in.Flags = frame.FlagPress
		}
		checkEffects(t, d, d.step(in))
	}
	return now
}

func checkEffects(t *testing.T, d *stand, effects []Effect) {
	t.Helper()
	for _, e := range effects {
		switch e := e.(type) {
		case Captured:
			refused := e.Quality == qualityNoLock || e.Quality == qualityNoFree || e.Note == "locked and freed"
			require.True(t, refused || !math.IsNaN(e.Value) && !math.IsInf(e.Value, 0), "%+v", e)
			require.NotEmpty(t, e.Quality)
			require.Zero(t, e.ID+e.Supersedes+e.Position, "for the round to say")
		case GoTo:
			require.Less(t, e.Index, len(d.visits))
			require.GreaterOrEqual(t, e.Index, 0)
		case Fault:
			require.NotEmpty(t, e.Text)
		case Warn:
			require.NotEmpty(t, e)
		case Block:
			require.Contains(t, e.Name, "re-strike")
		case Stop:
			require.LessOrEqual(t, e.From, e.To)
		case Doubt:
			require.Contains(t, e, " is ")
		default:
			require.Contains(t, []Effect{Advance{}, Clear{}, Moving{}, Measuring{}, Ring("The line has settled: the test begins."), Ring("Type the pressure now.")}, zeroed(e))
		}
	}
	require.NotEmpty(t, d.Ask(d.at))
}

// zeroed takes what an effect carries off it.
func zeroed(e Effect) Effect {
	switch e.(type) {
	case Clear:
		return Clear{}
	case Rock:
		return Measuring{} // always beside one
	}
	return e
}

func TestStepOnASampleAllocatesNothing(t *testing.T) {
	for _, name := range record.Features() {
		if table[name].gauged == nil {
			continue
		}
		d := newStand(name, ways["gauge"], false)
		now := 0.0
		step := func() {
			now += 0.01
			d.step(Input{Kind: Reading, Sample: analysis.Sample{T: now, X: 0.01}, Unit: "mm"})
		}
		for range 1000 {
			step()
		}
		assert.Zero(t, testing.AllocsPerRun(1000, step), name)
	}
}

func BenchmarkStep(b *testing.B) {
	for _, name := range []string{record.FeatureBacklash, record.FeatureRunoutFlange, record.FeatureWheelBolts, record.FeaturePreloadTotal, record.FeatureLeakDown} {
		b.Run(name, func(b *testing.B) {
			d := newStand(name, ways["gauge"], false)
			now := 0.0
			b.ReportAllocs()
			for b.Loop() {
				now += 0.01
				d.step(Input{Kind: Reading, Sample: analysis.Sample{T: now, X: 0.01}, Unit: "mm"})
			}
		})
	}
}

// keyedStand types values at a stand.
func (d *stand) key(v float64, unit string) []Effect {
	return d.step(Input{Kind: Typed, Value: v, Unit: unit, Time: testTime, Gauge: "keyed"})
}

func TestEntryDoubts(t *testing.T) {
	d := newStand(record.FeatureBacklash, ways["keyed"], false)
	effects := d.key(1.8, "")
	require.Len(t, effects, 3)
	assert.Equal(t, Doubt("1.8 mm is 9 times the limit of 0.2 mm"), effects[0])
	require.Len(t, d.key(0.18, ""), 2, "captured, and on")
	assert.InDelta(t, 0.18, d.taken[0].Value, 1e-9)
	d.key(1.8, "mm")
	d.key(1.8, "mm")
	require.Len(t, d.taken, 2)
	assert.Equal(t, 2, d.at.Index)
}

// A bolt whose locker has set is pulled again with a reason only.
func TestPullBlocksARestrike(t *testing.T) {
	for way, captures := range map[string]int{"gauge": 0, "alone": 1} {
		d := newStand(record.FeatureWheelBolts, ways[way], false)
		d.enter(len(d.visits) - 1)
		d.at.First, d.at.Supersedes = testTime.Add(-time.Hour), 7
		effects := d.Step(d.at, Input{Kind: Reading, Sample: analysis.Sample{X: 98}, Flags: frame.FlagPress})
		require.IsType(t, Block{}, effects[0])
		n := 0
		for _, e := range effects {
			if _, ok := e.(Captured); ok {
				n++
			}
		}
		assert.Equal(t, captures, n, way)
	}
}

// A test whose reading never changed counts once it is seen to follow.
func TestAirTestWaitsForAHeldGauge(t *testing.T) {
	d := newStand(record.FeatureLeakDown, func(s *Setup) { s.Resolution = 0.1 }, false)
	settle, test := sheet.Example().LeakDown.Times()
	feed := func(t, p float64) []Effect {
		return d.step(Input{Kind: Reading, Sample: analysis.Sample{T: t, X: p}, Unit: "kPa"})
	}
	var last []Effect
	for s := 0.0; s <= settle+test; s++ {
		last = feed(s, 690)
	}
	require.Len(t, last, 1)
	assert.Equal(t, analysis.Frozen, last[0].(Fault).Fault)
	assert.Nil(t, feed(settle+test+1, 690))
	require.Len(t, feed(settle+test+2, 689), 1)
	require.Len(t, d.taken, 1)
	assert.Zero(t, d.taken[0].Value)
}

// A try that fails rings, also the last one.
func TestFailedTryRings(t *testing.T) {
	d := newStand(record.FeatureEngagement, ways["keyed"], false)
	d.enter(len(d.visits) - 1)
	effects := d.key(0, tryFreed)
	require.Len(t, effects, 3)
	assert.Equal(t, qualityNoFree, d.taken[0].Quality)
	assert.Contains(t, effects[2].(Fault).Text, "Cycle 10: it did not free.")
}
