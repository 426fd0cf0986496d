package runout

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/internal/check"
	"crownlog/analysis/internal/noted"
)

// A wobble is an invented surface with a known answer.
type wobble struct {
	a1, p1, a2, p2, a3 float64
	noise, step        float64
}

func (w wobble) at(deg float64) float64 {
	r := math.Pi / 180
	return 0.3 + w.a1*math.Cos((deg-w.p1)*r) + w.a2*math.Cos(2*(deg-w.p2)*r) + w.a3*math.Cos(3*deg*r)
}

func (w wobble) read(deg float64, rnd *rand.Rand) float64 {
	v := w.at(deg) + w.noise*rnd.NormFloat64()
	if w.step > 0 {
		v = math.Round(v/w.step) * w.step
	}
	return v
}

func (w wobble) fim() float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for d := 0.0; d < 360; d += 0.25 {
		low, high = math.Min(low, w.at(d)), math.Max(high, w.at(d))
	}
	return high - low
}

func TestRunoutIndexed(t *testing.T) {
	w := wobble{a1: 0.028, p1: 141, a2: 0.006, p2: 33, noise: 0.0005, step: 0.001}
	rnd := rand.New(rand.NewSource(1))
	grids := map[string][]float64{}
	for i := range 8 {
		grids["8 even"] = append(grids["8 even"], float64(i)*45)
	}
	for i := range 12 {
		grids["12 uneven"] = append(grids["12 uneven"], float64(i)*30+rnd.Float64()*20-10)
	}
	for i := range 36 {
		grids["36 even"] = append(grids["36 even"], float64(i)*10)
	}
	for i := range 360 {
		grids["360 even"] = append(grids["360 even"], float64(i))
	}
	for i := range 25 {
		grids["24 and back to 360"] = append(grids["24 and back to 360"], float64(i)*15)
	}
	for i := range 24 {
		grids["three turns of 8"] = append(grids["three turns of 8"], float64(i)*45)
	}
	for name, angles := range grids {
		t.Run(name, func(t *testing.T) {
			var p []Point
			low, high := math.Inf(1), math.Inf(-1)
			for _, a := range angles {
				p = append(p, Point{a, w.read(a, rnd)})
				low, high = math.Min(low, w.at(a)), math.Max(high, w.at(a))
			}
			r := Measure(p, Options{})
			require.False(t, r.Refused, r.Notes)
			assert.Empty(t, r.Faults, r.Notes)
			assert.Empty(t, r.Spikes)
			assert.InDelta(t, high-low, r.FIM, 0.0022)
			require.NotNil(t, r.H1)
			require.NotNil(t, r.H2)
			assert.InDelta(t, 0.028, r.H1.Amplitude, 0.001)
			assert.InDelta(t, 0, check.ApartDeg(141, r.H1.PhaseDeg, 360), 2)
			assert.InDelta(t, 0.006, r.H2.Amplitude, 0.001)
			assert.InDelta(t, 0, check.ApartDeg(33, r.H2.PhaseDeg, 180), 6)
			assert.InDelta(t, 0.012, r.FIMIfReseated, 0.003)
			assert.Less(t, r.ResidualSD, 0.0015)
		})
	}
}

func TestRunoutFewPlaces(t *testing.T) {
	w := wobble{a1: 0.03, p1: 200}
	for n := 3; n < 8; n++ {
		var p []Point
		for i := range n {
			a := float64(i) * 360 / float64(n)
			p = append(p, Point{a, w.at(a)})
		}
		r := Measure(p, Options{})
		require.NotNil(t, r.H1, "%d", n)
		assert.InDelta(t, 0.03, r.H1.Amplitude, 1e-12)
		assert.InDelta(t, 200, r.H1.PhaseDeg, 1e-9)
		assert.Nil(t, r.H2)
		assert.Equal(t, analysis.FewForSecond, r.Notes[0].Code)
	}
	r := Measure([]Point{{0, 1}, {180, 2}, {360, 1}}, Options{})
	assert.True(t, r.Refused)
	assert.True(t, math.IsNaN(r.FIM))
	assert.Equal(t, []analysis.Fault{analysis.TooShort}, r.Faults)
	half := Measure([]Point{{0, 1}, {30, 2}, {60, 1}, {90, 2}, {120, 1}, {150, 1}, {160, 1}, {170, 1}}, Options{})
	assert.True(t, half.Refused)
	assert.Equal(t, []analysis.Fault{analysis.Gaps}, half.Faults)
}

// A reading that stands out may be a slip or a bump: it counts as read, and the
// result says which one it is.
func TestRunoutIndexedDoubt(t *testing.T) {
	for _, n := range []int{8, 12, 16, 24, 36, 72, 360} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			w := wobble{a1: 0.028, p1: 141, a2: 0.006, p2: 33, noise: 0.0006}
			rnd := rand.New(rand.NewSource(int64(n)))
			var p []Point
			for i := range n {
				a := float64(i) * 360 / float64(n)
				p = append(p, Point{a, w.read(a, rnd)})
			}
			bad := n / 3
			p[bad].Value += 0.15
			r := Measure(p, Options{})
			require.False(t, r.Refused)
			assert.Empty(t, r.Spikes)
			assert.Equal(t, []int{bad}, r.Doubtful)
			assert.InDeltaSlice(t, []float64{p[bad].AngleDeg, 0.15}, noted.Figures(r.Notes, analysis.StandsOut), 0.05)
			low := math.Inf(1)
			for _, q := range p {
				low = math.Min(low, q.Value)
			}
			assert.InDelta(t, p[bad].Value-low, r.FIM, 0.002, "as read")
			assert.InDelta(t, 0.028, r.H1.Amplitude, 0.002, "the harmonics are of the others")
			again := Measure(append(p, Point{p[bad].AngleDeg, p[bad].Value - 0.01}), Options{})
			assert.Empty(t, again.Doubtful, "read twice, it is a bump")
			assert.InDelta(t, r.FIM, again.FIM, 0.011)
			other := Measure(append(p, Point{p[bad].AngleDeg, w.at(p[bad].AngleDeg)}), Options{})
			assert.Equal(t, []int{bad}, other.Doubtful, "two readings that differ prove neither")
		})
	}
	for _, bump := range []float64{0.03, 0.06, 0.15, 0.4} {
		for _, n := range []int{8, 12, 16} {
			var p []Point
			for i := range n {
				p = append(p, Point{float64(i) * 360 / float64(n), []float64{0, 0.004, 0.006, 0.002, 0.001, 0.003, 0.005}[i%7]})
			}
			p[n-1].Value = bump
			r := Measure(append([]Point{{AngleDeg: math.NaN()}}, p...), Options{Resolution: 0.001})
			assert.InDelta(t, bump, r.FIM, 1e-9, "%d places", n)
			assert.Equal(t, []int{n}, r.Doubtful, "the index counts what is no number too")
		}
	}
}

// turning makes an invented trace of steady turning.
func (w wobble) turning(rnd *rand.Rand, turns, period, rate float64) []analysis.Sample {
	var s []analysis.Sample
	for t := 0.0; t < turns*period; t += 1 / rate {
		s = append(s, analysis.Sample{T: t, X: w.read(360*t/period, rnd)})
	}
	return s
}

func TestRunoutTurns(t *testing.T) {
	for seed := range 60 {
		rnd := rand.New(rand.NewSource(int64(seed)))
		w := wobble{a1: 0.01 + 0.04*rnd.Float64(), p1: 360 * rnd.Float64(), a2: 0.012 * rnd.Float64(), p2: 180 * rnd.Float64(),
			noise: 0.0003 + 0.001*rnd.Float64(), step: []float64{0, 0.001, 0.01}[seed%3]}
		turns := []float64{1, 1.5, 2, 2.5, 3, 4.3, 6, 9}[seed%8]
		period := 3 + 25*rnd.Float64()
		rate := []float64{10, 50, 100}[rnd.Intn(3)]
		t.Run(fmt.Sprintf("seed %d: %.1f turns of %.1f s at %g Hz", seed, turns, period, rate), func(t *testing.T) {
			r := MeasureTurn(w.turning(rnd, turns, period, rate), Options{})
			require.False(t, r.Refused, r.Notes)
			assert.InDelta(t, turns, r.Turns, 0.06, "notes %v", r.Notes)
			assert.Empty(t, r.Faults, r.Notes)
			assert.Empty(t, r.Spikes)
			assert.InDelta(t, w.fim(), r.FIM, 0.0025+0.5*w.step)
			assert.InDelta(t, w.a1, r.H1.Amplitude, 0.001+0.15*w.step)
			assert.InDelta(t, w.a2, r.H2.Amplitude, 0.001+0.15*w.step)
			assert.InDelta(t, 0, check.ApartDeg(w.p1, r.H1.PhaseDeg, 360), 5)
		})
	}
}

// A high spot that passes slowly is as even as a rest, and yet the turn must not
// lose it.
func TestRunoutKeepsTheWholeTurn(t *testing.T) {
	cut, told := 0, 0
	for seed := range 120 {
		rnd := rand.New(rand.NewSource(int64(seed)))
		w := wobble{a1: []float64{0.01, 0.02, 0.05}[rnd.Intn(3)], p1: 360 * rnd.Float64(), noise: 0.0003,
			step: []float64{0.001, 0.005}[rnd.Intn(2)]}
		w.a2, w.p2 = 0.3*w.a1*rnd.Float64(), 180*rnd.Float64()
		period := 8 + 20*rnd.Float64()
		r := MeasureTurn(w.turning(rnd, 1, period, []float64{4, 10, 50}[rnd.Intn(3)]), Options{})
		if r.H1 == nil {
			assert.LessOrEqual(t, 2*w.a1, 2.5*w.step, "seed %d: %v", seed, r.Notes)
			continue
		}
		if len(r.Faults) > 0 { // movement of three counts that seems to creep
			continue
		}
		told++
		if math.Abs(turnSeconds(r)/period-1) > 0.1 {
			cut++
		}
	}
	assert.Greater(t, told, 80)
	assert.LessOrEqual(t, cut, 1, "of %d", told)
}

// turnSeconds is how long a turn was said to take.
func turnSeconds(r Result) float64 {
	figures := append(noted.Figures(r.Notes, analysis.OneTurnSeen), noted.Figures(r.Notes, analysis.TurnsSeen)...)
	return figures[len(figures)-1]
}

// TestRunoutUnevenHand: two turns whose speed goes up and down do not repeat
// well, and as one turn they would have no once-a-turn part.
func TestRunoutUnevenHand(t *testing.T) {
	doubted := 0
	for seed := range 30 {
		rnd := rand.New(rand.NewSource(int64(seed)))
		w := wobble{a1: 0.02, p1: 360 * rnd.Float64(), a2: 0.002, noise: 0.0003, step: 0.001}
		period, phase := 12+10*rnd.Float64(), 7*rnd.Float64()
		var s []analysis.Sample
		for at := 0.0; at < 2*period; at += 0.05 {
			deg := 360/period*at + 8*math.Sin(2*math.Pi*at/period/1.3+phase) + 6*math.Sin(2*math.Pi*at/period/0.37)
			s = append(s, analysis.Sample{T: at, X: w.read(deg, rnd)})
		}
		r := MeasureTurn(s, Options{})
		assert.InDelta(t, w.fim(), r.FIM, 0.004, seed)
		if r.H1 == nil {
			doubted++
			assert.Contains(t, r.Notes, analysis.MaybeTwoTurns.Of())
			continue
		}
		assert.InDelta(t, w.a1, r.H1.Amplitude, 0.004, "seed %d: %v", seed, r.Notes)
	}
	t.Logf("harmonics doubted in %d of 30", doubted)
	assert.Less(t, doubted, 15)
}

func TestRunoutIndexedBaseMoves(t *testing.T) {
	w := wobble{a1: 0.03, p1: 70, a2: 0.005, p2: 10, noise: 0.0005, step: 0.001}
	for name, c := range map[string]struct {
		n    int
		each float64
	}{"back to 360": {25, 15}, "three turns of 8": {24, 45}, "two turns of 36": {72, 10}} {
		rnd := rand.New(rand.NewSource(5))
		var p []Point
		for i := range c.n {
			a := float64(i) * c.each
			p = append(p, Point{a, w.read(a, rnd) + 0.02*a/360})
		}
		r := Measure(p, Options{})
		assert.Equal(t, []analysis.Fault{analysis.BaseCreep}, r.Faults, name)
		assert.InDeltaSlice(t, []float64{0.02}, noted.Figures(r.Notes, analysis.OffByTurn), 0.003, name)
		assert.InDelta(t, 0.03, r.H1.Amplitude, 0.001, "%s: the creep is taken out", name)
	}
}

func TestRunoutTurnTrouble(t *testing.T) {
	w := wobble{a1: 0.03, p1: 70, a2: 0.005, p2: 10, noise: 0.0005, step: 0.001}
	make := func(turns float64, change func(i int, s *analysis.Sample)) Result {
		s := w.turning(rand.New(rand.NewSource(4)), turns, 12, 50)
		for i := range s {
			change(i, &s[i])
		}
		return MeasureTurn(s, Options{})
	}
	t.Run("burr each turn", func(t *testing.T) {
		r := make(3, func(i int, s *analysis.Sample) {
			if d := math.Mod(360*s.T/12, 360); d > 200 && d < 203 {
				s.X += 0.08
			}
		})
		require.Len(t, r.Spikes, 1)
		assert.True(t, r.Spikes[0].Repeats)
		assert.InDelta(t, 201.5, r.Spikes[0].AngleDeg, 2)
		assert.InDelta(t, w.fim(), r.FIM, 0.003)
	})
	t.Run("one turn does not tell a bump from dirt", func(t *testing.T) {
		r := make(1, func(i int, s *analysis.Sample) {
			if i >= 300 && i < 306 {
				s.X += 0.2
			}
		})
		assert.Empty(t, r.Spikes)
		assert.Equal(t, []int{300, 301, 302, 303, 304, 305}, r.Doubtful)
		assert.InDelta(t, 0.2+w.at(182)-w.at(250), r.FIM, 0.003)
		figures := noted.Figures(r.Notes, analysis.StandsOutOnce)
		require.Len(t, figures, 2)
		assert.InDelta(t, 181.5, figures[0], 1.6, "on the bump")
		assert.InDelta(t, 0.2, figures[1], 0.003)
	})
	t.Run("dirt once", func(t *testing.T) {
		r := make(3, func(i int, s *analysis.Sample) {
			if i == 700 {
				s.X -= 0.2
			}
		})
		require.Len(t, r.Spikes, 1)
		assert.False(t, r.Spikes[0].Repeats)
		assert.InDelta(t, w.fim(), r.FIM, 0.003)
	})
	t.Run("base creeps", func(t *testing.T) {
		r := make(3, func(_ int, s *analysis.Sample) { s.X += 0.015 * s.T / 12 })
		assert.Equal(t, []analysis.Fault{analysis.BaseCreep}, r.Faults)
		assert.InDelta(t, w.fim(), r.FIM, 0.004)
		assert.InDeltaSlice(t, []float64{0.015}, noted.Figures(r.Notes, analysis.OffByTurn), 0.002)
	})
	t.Run("one turn does not close", func(t *testing.T) {
		r := make(1, func(_ int, s *analysis.Sample) { s.X += 0.02 * s.T / 12 })
		assert.Equal(t, []analysis.Fault{analysis.BaseCreep}, r.Faults)
	})
	t.Run("knocked", func(t *testing.T) {
		for _, turns := range []float64{1, 2, 3} {
			r := make(turns, func(_ int, s *analysis.Sample) {
				if s.T > 5 {
					s.X += 0.05
				}
			})
			assert.True(t, r.Refused, "%v", turns)
			assert.Contains(t, r.Faults, analysis.ZeroShift)
			assert.True(t, math.IsNaN(r.FIM))
		}
	})
	t.Run("held", func(t *testing.T) {
		r := make(2, func(_ int, s *analysis.Sample) { s.X = 0.123 })
		assert.Equal(t, []analysis.Fault{analysis.Frozen}, r.Faults)
	})
	t.Run("at rest before and after", func(t *testing.T) {
		s := w.turning(rand.New(rand.NewSource(4)), 2, 12, 50)
		var all []analysis.Sample
		for i := range 500 {
			all = append(all, analysis.Sample{T: float64(i) / 50, X: s[0].X})
		}
		for _, q := range s {
			all = append(all, analysis.Sample{T: q.T + 10, X: q.X})
		}
		r := MeasureTurn(all, Options{})
		assert.InDelta(t, 2, r.Turns, 0.1)
		assert.InDelta(t, 0.03, r.H1.Amplitude, 0.001)
	})
	t.Run("a burr is no turn of its own", func(t *testing.T) {
		r := make(1, func(_ int, s *analysis.Sample) {
			if s.T > 6 && s.T < 6.1 {
				s.X += 0.05
			}
		})
		assert.InDelta(t, 12, turnSeconds(r), 0.1)
	})
	t.Run("too quick", func(t *testing.T) {
		r := MeasureTurn(w.turning(rand.New(rand.NewSource(4)), 8, 0.5, 200), Options{})
		assert.True(t, r.Refused)
		assert.Equal(t, []analysis.Fault{analysis.TooShort}, r.Faults)
	})
	t.Run("nothing", func(t *testing.T) {
		assert.True(t, MeasureTurn(nil, Options{}).Refused)
		assert.True(t, MeasureTurn([]analysis.Sample{{T: 0, X: math.NaN()}, {T: 1, X: 2}, {T: 0, X: 3}}, Options{}).Refused)
	})
}

func TestRunoutTurnReadings(t *testing.T) {
	w := wobble{a1: 0.03, p1: 70, a2: 0.005, p2: 10, noise: 0.0003, step: 0.001}
	s := w.turning(rand.New(rand.NewSource(4)), 2, 12, 20)
	want := MeasureTurn(s, Options{})
	odd := append([]analysis.Sample(nil), s[:100]...)
	odd = append(odd, analysis.Sample{T: math.NaN(), X: 1}, analysis.Sample{T: s[99].T + 0.01, X: math.NaN()}, analysis.Sample{T: s[50].T, X: 5})
	odd = append(odd, s[100:]...)
	assert.Equal(t, want, MeasureTurn(odd, Options{}), "what is no reading is left out")
	assert.Equal(t, []analysis.Note{analysis.FewReadings.Of(11)}, MeasureTurn(s[:11], Options{}).Notes)
	assert.False(t, MeasureTurn(w.turning(rand.New(rand.NewSource(4)), 1, 12, 1), Options{}).Refused, "twelve are enough")
}
