package runout

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/internal/noted"
	"crownlog/analysis/internal/stat"
	"crownlog/analysis/motion"
)

// A drift is taken out from the first reading on, wherever that was.
func TestLevellingFromTheFirstReading(t *testing.T) {
	f := faceOf(90, 1, 1.1, 1.2, 1.3, 1.4)
	for i := range f.angle {
		f.angle[i] += 90
	}
	f.level(drift{perTurn: 0.4, u: 0.1, known: true})
	assert.InDeltaSlice(t, []float64{1, 1, 1, 1, 1}, f.value, 1e-12)
}

// A movement of 1 over two turns: a creep speaks beyond 0.04 a turn and beyond
// three standard uncertainties.
func TestCreepBeyondItsUncertainty(t *testing.T) {
	for _, c := range []struct {
		perTurn, u float64
		named      bool
	}{{0.2, 0.06, true}, {-0.2, 0.06, true}, {0.2, 0.07, false}, {0.05, 0.001, true}, {0.03, 0.001, false}} {
		r := newRunout()
		r.FIM = 1
		r.judgeClosing(faceOf(90, make([]float64, 9)...), drift{perTurn: c.perTurn, u: c.u, known: true})
		assert.Equal(t, c.named, len(r.Faults) == 1, "%+v", c)
		if c.named {
			assert.Equal(t, []float64{c.perTurn}, noted.Figures(r.Notes, analysis.OffByTurn))
		}
	}
}

// The ends are compared where they are within 45° of closing.
func TestEndsNearClosing(t *testing.T) {
	assert.True(t, faceOf(5, make([]float64, 64)...).endDrift().known, "315°")
	assert.False(t, faceOf(5, make([]float64, 63)...).endDrift().known, "310°")
	assert.True(t, faceOf(5, make([]float64, 82)...).endDrift().known, "405°")
}

// Medians of four on either side: a step takes eight times as many readings.
func TestFewestReadingsOfAStep(t *testing.T) {
	step := func(n int) float64 {
		f := faceOf(11, make([]float64, n)...)
		f.rest = make([]float64, n)
		for i := n / 2; i < n; i++ {
			f.rest[i] = 1
		}
		_, size := f.step()
		return size
	}
	assert.Equal(t, 1.0, step(32))
	assert.Zero(t, step(31))
}

func TestJumpThatIsUndone(t *testing.T) {
	for _, c := range []struct {
		apart, jump float64
		want        bool
	}{{24, -0.6, true}, {24, -0.5, false}, {25, -0.6, false}, {24, 0.6, false}} {
		assert.Equal(t, c.want, undone([]float64{0, c.apart}, []float64{1, c.jump}, 0, 0), "%+v", c)
	}
	assert.True(t, undone([]float64{0, 10}, []float64{-0.7, 1}, 1, 0), "before it too")
}

// A turn of two counts of the display says nothing of its shape, nor does one
// that repeats itself after half of it.
func TestDoubtOfTurns(t *testing.T) {
	once := func(angle float64) float64 { return math.Cos(angle * math.Pi / 180) }
	twice := func(angle float64) float64 { return math.Cos(2*angle*math.Pi/180) + 0.1*once(angle) }
	for _, c := range []struct {
		name       string
		places     int
		surface    func(float64) float64
		resolution float64
		turns      float64
		want       []analysis.Note
	}{
		{"a shape", 36, once, 0.1, 1, []analysis.Note{}},
		{"two and a half counts", 2, once, 0.8, 1, []analysis.Note{}},
		{"hardly more than two", 2, once, 0.81, 1, []analysis.Note{analysis.TwoCounts.Of()}},
		{"repeats itself", 36, twice, 0.1, 1, []analysis.Note{analysis.MaybeTwoTurns.Of()}},
		{"over two turns", 36, twice, 0.1, motion.OneTurn, []analysis.Note{}},
		{"too few to tell", 6, twice, 0.1, 1, []analysis.Note{}},
	} {
		f := faceOf(360/float64(c.places), make([]float64, c.places)...)
		for i, a := range f.angle {
			f.value[i] = c.surface(a)
		}
		f.resolution = c.resolution
		r := newRunout()
		r.H1 = &analysis.Harmonic{Amplitude: 1}
		r.doubtTurns(*f, motion.TurnFit{Turns: c.turns})
		assert.Equal(t, c.want, r.Notes, c.name)
		assert.Equal(t, len(c.want) == 0, r.H1 != nil, c.name)
		r = newRunout()
		r.doubtTurns(*f, motion.TurnFit{Turns: c.turns})
		assert.Empty(t, r.Notes, "%s: what was not told is not doubted", c.name)
	}
}

// A spike that a second turn passes is left out, with a word; one at the end of
// the only pass stays in doubt.
func TestSpikesOfASecondTurn(t *testing.T) {
	f := faceOf(2, make([]float64, 200)...)
	f.continuous = true
	for _, i := range []int{5, 100} {
		f.value[i], f.spike[i] = 1, true
	}
	f.rest = f.value
	r := newRunout()
	r.partSpikes(f, nil)
	assert.Equal(t, []Spike{{AngleDeg: 10, Value: 1, Height: 1}}, r.Spikes)
	assert.Equal(t, []int{100}, r.Doubtful)
	assert.Equal(t, []analysis.Note{analysis.SpikesAside.Of(1, 0), analysis.StandsOutOnce.Of(200, 1)}, r.Notes)
}

// The least scatter is of the movement, not of where the gauge stands.
func TestFinestScatter(t *testing.T) {
	f := faceOf(90, 5, 6, 5.5)
	assert.InDelta(t, 1e-6, f.finest(), 1e-12)
	f.resolution = 0.01
	assert.InDelta(t, 0.003, f.finest(), 1e-12)
}

// Sixty places make a surface that can be smoothed; fewer, or sixty readings of
// fewer, only carry harmonics.
func TestPlacesOfASurface(t *testing.T) {
	top := func(readings, places int) float64 {
		var angle, value []float64
		for i := range readings {
			a := 360 * float64(i%places) / float64(places)
			angle, value = append(angle, a), append(value, math.Copysign(1, math.Sin(3*a*math.Pi/180+0.01)))
		}
		_, high := stat.Extremes(surface(angle, value, min(readings, places), 0).height)
		return high
	}
	// Four harmonics make a square wave a third higher than it is, local parabolas an eighth.
	assert.Less(t, top(60, 60), 1.15)
	assert.Greater(t, top(59, 60), 1.25)
	assert.Greater(t, top(90, 45), 1.25)
}
