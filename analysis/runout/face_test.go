package runout

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/noted"
	"crownlog/analysis/internal/stat"
)

// faceOf is a face read at even angles from 0 on.
func faceOf(step float64, value ...float64) *face {
	f := &face{value: value, spike: make([]bool, len(value)), leftOut: make([]bool, len(value))}
	for i := range value {
		f.angle, f.index = append(f.angle, step*float64(i)), append(f.index, i)
	}
	return f
}

func TestLargestGap(t *testing.T) {
	for _, c := range []struct {
		angle []float64
		want  float64
	}{{[]float64{0, 90, 180}, 180}, {[]float64{10, 350, 370}, 340}, {[]float64{350, 100, 200}, 150}, {[]float64{-10, 0, 10}, 340}, {[]float64{0, 120, 240}, 120}} {
		assert.InDelta(t, c.want, largestGap(c.angle), 1e-9, "%v", c.angle)
	}
	ring := func(gap float64) []Point {
		var p []Point
		for i := range 9 {
			a := (360 - gap) * float64(i) / 8
			p = append(p, Point{a, 0.02 * math.Cos(a*math.Pi/180)})
		}
		return p
	}
	for gap, want := range map[float64][2]bool{124: {false, false}, 125: {false, false}, 126: {true, false}, 180.5: {true, false}, 181: {true, true}} {
		r := Measure(ring(gap), Options{})
		assert.Equal(t, want, [2]bool{len(r.Faults) == 1, r.Refused}, "%g", gap)
	}
	assert.Contains(t, Measure(ring(200), Options{}).Notes, analysis.UnreadArc.Of(200))
}

func TestFewPlacesAreAveraged(t *testing.T) {
	assert.ElementsMatch(t, []float64{1.5, 6.5, 3}, averaged([]float64{0, 120, 240, 360, 480}, []float64{1, 5, 3, 2, 8}))
	assert.ElementsMatch(t, []float64{1.5, 9}, averaged([]float64{0, 0.04, 120}, []float64{1, 2, 9}), "within a tenth of a degree")
	assert.Equal(t, 0, place(-0.01))
	assert.Equal(t, 3599, place(359.94))
	assert.Equal(t, 0, place(359.96))
	assert.Equal(t, 905, place(360+90.5))
}

// A dense surface of a sine, with and without a step that four harmonics miss.
func TestSurfaces(t *testing.T) {
	rnd := rand.New(rand.NewSource(3))
	var angle, sine, square []float64
	for i := range 180 {
		a := 2 * float64(i)
		angle = append(angle, a)
		sine = append(sine, 0.05*math.Cos((a-31)*math.Pi/180)+0.0003*rnd.NormFloat64())
		square = append(square, 0.05*math.Copysign(1, math.Sin(3*a*math.Pi/180+0.01)))
	}
	c := surface(angle, sine, 180, 0)
	assert.Len(t, c.height, 360)
	assert.InDelta(t, 0.05, c.height[31], 1e-4)
	low, high := stat.Extremes(c.height)
	assert.InDelta(t, 0.1, high-low, 2e-4, "noise adds nothing")
	assert.InDelta(t, 0.0003, c.rest, 0.00005)
	assert.InDelta(t, 0.0003, c.noise, 0.00005)
	assert.InDelta(t, 2.0/180*8, c.knows, 1e-3, "cosine and sine of the odd orders, half a turn apart")
	fit, err := analysis.FitHarmonics(angle, square, 1, 2, 3, 4)
	require.NoError(t, err)
	assert.False(t, plain(fit, 0), "that is more than noise")
	assert.True(t, plain(fit, 0.2), "unless the display is that coarse")
	assert.InDelta(t, 0.05, surface(angle, square, 180, 0).height[30], 1e-9, "smoothed, and flat where it is flat")
	smooth := smoothSurface(angle, square)
	assert.Len(t, smooth, 360)
	assert.InDelta(t, 0.05, smooth[30], 1e-9, "flat where it is flat")
	assert.InDelta(t, -0.05, smooth[90], 1e-9)
	quadratic := make([]float64, len(angle))
	for i, a := range angle {
		quadratic[i] = (a - 180) * (a - 180)
	}
	for deg, v := range smoothSurface(angle, quadratic)[10:350] {
		assert.InDelta(t, float64(deg-170)*float64(deg-170), v, 1e-6, "parabolas stay what they are")
	}
	sparse := smoothSurface([]float64{0, 40, 80, 120, 160, 200, 240, 280, 320}, []float64{1, 1, 1, 1, 1, 1, 1, 1, 1})
	for _, v := range sparse {
		assert.InDelta(t, 1, v, 1e-9)
	}
}

// Between angles without readings a fit knows little: half a turn of them makes
// its far side some forty times as doubtful.
func TestVarianceWhereNothingWasRead(t *testing.T) {
	var even, half []float64
	for i := range 12 {
		even, half = append(even, 30*float64(i)), append(half, 15*float64(i))
	}
	assert.InDelta(t, 2.0/12*4, differenceVariance(even, []int{1}, 0, 180), 1e-9)
	assert.InDelta(t, 2.0/12*4, differenceVariance(even, []int{1, 2}, 90, 270), 1e-9)
	assert.Greater(t, differenceVariance(half, []int{1, 2}, 82, 262), 40*2.0/12*4)
	assert.True(t, math.IsInf(differenceVariance([]float64{0, 0, 0}, []int{1}, 0, 180), 1))
}

// Where readings are close the surface is smoothed over 6° and no more.
func TestDenseSurfaceKeepsItsWaves(t *testing.T) {
	var angle, value []float64
	for i := range 720 {
		a := float64(i) / 2
		angle, value = append(angle, a), append(value, math.Cos(20*a*math.Pi/180))
	}
	assert.Greater(t, smoothSurface(angle, value)[0], 0.7)
}

// A parabola round the turn is met everywhere, and of two places none is made.
func TestSmoothSurfaceOfAParabola(t *testing.T) {
	var angle, value []float64
	for a := 100.0; a <= 260; a += 2 {
		angle, value = append(angle, a), append(value, 7-0.02*(a-180)+0.0005*(a-180)*(a-180))
	}
	surface := smoothSurface(angle, value)
	assert.InDelta(t, 7, surface[len(surface)/2], 0.01)
	assert.Less(t, len(surface), 360, "nothing where there is no reading")
	assert.Empty(t, smoothSurface([]float64{10, 12}, []float64{1, 2}))
}

func TestSpikesAreGathered(t *testing.T) {
	f := faceOf(2, make([]float64, 400)...)
	mark := make([]bool, 400)
	for i, v := range map[int]float64{50: 0.1, 51: 0.3, 52: 0.2, 100: -0.1, 231: 0.4, 300: 0.05} {
		f.value[i], f.spike[i], mark[i] = v, true, true
	}
	f.rest = f.value
	assert.Equal(t, []Spike{
		{AngleDeg: 102, Value: 0.4, Height: 0.4, Repeats: true}, // 102° and 462°: one place
		{AngleDeg: 200, Value: -0.1, Height: -0.1},
		{AngleDeg: 240, Value: 0.05, Height: 0.05},
	}, f.listSpikes(mark))
	assert.Empty(t, f.listSpikes(make([]bool, 400)))
	two := joinSpike([]Spike{{AngleDeg: 359, Height: 1, Value: 1}}, Spike{AngleDeg: 2, Height: 0.5, Value: 0.5})
	assert.Equal(t, []Spike{{AngleDeg: 359, Height: 1, Value: 1, Repeats: true}}, two, "across 0°")
	assert.Len(t, joinSpike([]Spike{{AngleDeg: 359, Height: 1}}, Spike{AngleDeg: 3.1, Height: 1}), 2)
	assert.Len(t, joinSpike([]Spike{{AngleDeg: 359, Height: 1}}, Spike{AngleDeg: 359, Height: -1}), 2, "a hole is no burr")
}

func TestKeepNarrow(t *testing.T) {
	f := faceOf(6, make([]float64, 20)...)
	rest := make([]float64, 20)
	for _, i := range []int{2, 3, 4, 5, 9, 10, 11, 12, 13, 16, 17} {
		f.spike[i], rest[i] = true, 1
	}
	rest[17] = -1
	f.keepNarrow(rest)
	kept := []int{}
	for i, s := range f.spike {
		if s {
			kept = append(kept, i)
		}
	}
	assert.Equal(t, []int{2, 3, 4, 5, 16, 17}, kept, "18° is narrow, 24° is surface, up and down are two")
	angle, value := f.kept(f.value)
	assert.Len(t, angle, 14)
	assert.Len(t, value, 14)
}

func TestRepeatedDrift(t *testing.T) {
	f := faceOf(120, 1, 2, 3, 1.1, 2.1, 3.4)
	d := f.repeatedDrift()
	assert.True(t, d.known)
	assert.InDelta(t, 0.2, d.perTurn, 1e-12)
	assert.InDelta(t, math.Sqrt(0.03)/math.Sqrt(3), d.u, 1e-12)
	f.spike[5] = true
	assert.InDelta(t, 0.1, f.repeatedDrift().perTurn, 1e-12, "without what stands out")
	assert.Zero(t, f.repeatedDrift().u, "two tell no scatter")
	assert.False(t, faceOf(100, 1, 2, 3).repeatedDrift().known)
	twice := &face{angle: []float64{0, 720}, value: []float64{1, 1.5}, spike: make([]bool, 2)}
	assert.InDelta(t, 0.25, twice.repeatedDrift().perTurn, 1e-12, "two turns on")
	again := &face{angle: []float64{0, 90, 0}, value: []float64{1, 2, 1.5}, spike: make([]bool, 3)}
	assert.InDelta(t, 0.5, again.repeatedDrift().perTurn, 1e-12, "read again without counting on")
}

func TestLevelling(t *testing.T) {
	values := func() *face { return faceOf(90, 1, 1.1, 1.2, 1.3, 1.4, 1.5) }
	f := values()
	f.level(drift{perTurn: 0.4, u: 0.1, known: true})
	assert.InDeltaSlice(t, []float64{1, 1, 1, 1, 1, 1}, f.value, 1e-12)
	for name, d := range map[string]drift{
		"unknown": {perTurn: 0.4}, "within its doubt": {perTurn: 0.4, u: 0.2, known: true}, "small beside the movement": {perTurn: 0.024, known: true},
	} {
		f := values()
		f.level(d)
		assert.Equal(t, values().value, f.value, name)
	}
	part := faceOf(90, 1, 2, 3, 4)
	part.level(drift{perTurn: 0.4, known: true})
	assert.Equal(t, []float64{1, 2, 3, 4}, part.value, "less than a turn")
}

func TestEndDrift(t *testing.T) {
	var v []float64
	for i := range 361 {
		v = append(v, 0.05*math.Cos(float64(i)*math.Pi/180)+0.02*float64(i)/360)
	}
	d := faceOf(1, v...).endDrift()
	assert.True(t, d.known)
	assert.InDelta(t, 0.02, d.perTurn, 0.001)
	assert.False(t, faceOf(1, v[:300]...).endDrift().known, "60° of the turn are missing")
	assert.True(t, faceOf(1, v[:320]...).endDrift().known)
}

func TestStep(t *testing.T) {
	f := faceOf(2, make([]float64, 360)...)
	f.rest = make([]float64, 360)
	for i := range f.rest {
		f.rest[i] = 0.001 * float64(i%2)
		if i >= 100 {
			f.rest[i] += 0.05
		}
	}
	at, size := f.step()
	assert.InDelta(t, 200, at, 8)
	assert.InDelta(t, 0.05, size, 0.002)
	for i := 108; i < len(f.rest); i++ {
		f.rest[i] -= 0.05
	}
	_, size = f.step()
	assert.Zero(t, size, "undone within 25°: a bump")
	for i := 108; i < 130; i++ {
		f.rest[i] += 0.05
	}
	_, size = f.step()
	assert.InDelta(t, 0.05, math.Abs(size), 0.002, "60° on it is another step")
	short := faceOf(10, make([]float64, 31)...)
	short.rest = make([]float64, 31)
	short.rest[30] = 9
	_, size = short.step()
	assert.Zero(t, size, "too few to tell")
}

// Each part of the doubt about a movement, by itself.
func TestFIMUncertainty(t *testing.T) {
	stated := func(dof float64) float64 { return gum.CoverageFactor(0.95, dof) / 2 }
	for _, c := range []struct {
		name      string
		c         curve
		places    int
		step, mpe float64
		want      float64
	}{
		{"the gauge", curve{dof: 3}, 8, 0, 0.03, 0.03 / math.Sqrt(3)},
		{"a display that stands", curve{dof: 3}, 8, 0.01, 0, 0.01 / math.Sqrt(6)},
		{"the levels of the fit and a remainder that may be shape", curve{knows: 0.8, rest: 0.001, dof: 3}, 8, 0, 0, 0.001 * math.Sqrt(1.8) * stated(5)},
		{"noise that neighbours do not share", curve{knows: 0.3, rest: 0.001, noise: 0.001, dof: 20}, 30, 0, 0, 0.001 * math.Sqrt(0.7) * stated(39)},
		{"of the fewest places", curve{knows: 0.3, rest: 0.001, noise: 0.001, dof: 20}, 16, 0, 0, 0.001 * math.Sqrt(0.7) * stated(39)},
		{"so many that they are smoothed", curve{knows: 0.3, rest: 0.001, noise: 0.001, dof: 20}, 60, 0, 0, 0.001 * math.Sqrt(0.5) * stated(38)},
		{"half of it shape", curve{knows: 0.3, rest: 0.001, noise: 0.0006, dof: 20}, 30, 0, 0, 0.001 * math.Sqrt(1.58) * stated(28)},
		{"a display in the scatter", curve{knows: 1, rest: 0.0041, noise: 0.0041, dof: 1e6}, 30, 0.01, 0, 0.0041 * math.Sqrt(1.4)},
		{"a display not in the scatter", curve{knows: 1, rest: 0.0039, noise: 0.0039, dof: 1e6}, 30, 0.01, 0, math.Sqrt(1e-4/6 + 2*0.0039*0.0039/5)},
		{"a display in levels that scatter more", curve{knows: 4, rest: 0.003, noise: 0.003, dof: 1e6}, 30, 0.01, 0, 0.003 * math.Sqrt(4.4)},
		{"a scatter that dithers it, of many", curve{knows: 0.1, rest: 0.0041, noise: 0.0041, dof: 1e6}, 30, 0.01, 0, 0.0041 * math.Sqrt(0.5)},
		{"a warp nobody saw", curve{dof: 0, rest: math.NaN()}, 4, 0, 0, 0.07 * 0.05 * stated(4)},
		{"and some that was", curve{dof: 2, rest: 0.004}, 5, 0, 0, math.Sqrt((4*0.0035*0.0035+2*0.004*0.004)/6) * stated(6)},
		{"eight places show it", curve{dof: 3, rest: 0.001}, 8, 0, 0, 0.001 * stated(3)},
	} {
		assert.InDelta(t, c.want, c.c.u(0.05, c.places, c.step, c.mpe, 0), 1e-9, c.name)
	}
	assert.True(t, math.IsNaN(curve{dof: 3}.u(0, 8, 0, 0, 0)))
	assert.InDelta(t, 0.006/math.Sqrt(3), curve{dof: 3}.u(0.05, 8, 0, 0, 0.006), 1e-12, "what stands out")
}

// Eight noisy places leave so little to show their scatter by that one of them may
// seem to stand out and the rest to fit: the movement is covered all the same. A reading
// that does stand out is in doubt by what it is off, until it is read again.
func TestWhatStandsOutIsInDoubt(t *testing.T) {
	const runs = 300
	rnd := rand.New(rand.NewSource(12))
	covered := 0.0
	for range runs {
		s := anyShape(rnd)
		var p []Point
		for i := range 8 {
			p = append(p, Point{45 * float64(i), shown(s.at(45*float64(i))+0.004*rnd.NormFloat64(), 0.001)})
		}
		if r := Measure(p, Options{Resolution: 0.001}); math.Abs(r.FIM-s.movement()) <= 2*r.FIMU {
			covered++
		}
	}
	t.Logf("covered %.3f", covered/runs)
	assert.InDelta(t, 0.95, covered/runs, 0.025)

	var p []Point
	for i := range 8 {
		p = append(p, Point{45 * float64(i), 0.02 * math.Cos(45*float64(i)*math.Pi/180)})
	}
	p[2].Value += 0.06
	r := Measure(p, Options{Resolution: 0.001})
	assert.Equal(t, []int{2}, r.Doubtful)
	assert.InEpsilon(t, 0.06/math.Sqrt(3), r.FIMU, 0.03)
	known := Measure(p, Options{Resolution: 0.001, Confirmed: []int{2}})
	assert.Empty(t, known.Doubtful)
	assert.Equal(t, r.FIM, known.FIM)
	assert.Less(t, known.FIMU, 0.002)
	assert.Equal(t, []int{2}, Measure(p, Options{Resolution: 0.001, Confirmed: []int{3}}).Doubtful)
	again := Measure(append(p, Point{450, 0.06}), Options{Resolution: 0.001})
	assert.Empty(t, again.Doubtful)
	assert.Less(t, again.FIMU, 0.002)
}

// What three readings of four places make, worked by hand.
func TestMeasuredByHand(t *testing.T) {
	r := Measure([]Point{{0, 0.04}, {90, 0.02}, {180, 0}, {270, 0.02}}, Options{Resolution: 0.01, MPE: 0.003})
	assert.InDelta(t, 0.04, r.FIM, 1e-12)
	assert.InDelta(t, 0.02, r.H1.Amplitude, 1e-12)
	assert.InDelta(t, 0, r.FIMIfReseated, 1e-12)
	assert.InDelta(t, 0.0056, r.FIMU, 0.0006, "display 0.0041, gauge 0.0017, what stands between the places 0.0028")
	assert.Equal(t, 1.0, r.Turns)
	assert.Equal(t, []analysis.Note{analysis.FewForSecond.Of(4)}, r.Notes)
	r = Measure([]Point{{0, 0.04}, {math.NaN(), 1}, {90, 0.02}, {180, math.Inf(1)}, {180, 0}, {270, 0.02}, {360, 0.05}}, Options{Resolution: 0.01})
	assert.Contains(t, r.Notes, analysis.NotNumbers.Of(2))
	assert.Empty(t, r.Faults, "a count is no creep")
	r = Measure([]Point{{0, 0.04}, {90, 0.02}, {180, 0}, {270, 0.02}, {360, 0.055}}, Options{Resolution: 0.001})
	assert.Equal(t, []analysis.Fault{analysis.BaseCreep}, r.Faults)
	assert.False(t, r.Refused)
	r = Measure([]Point{{0, 0.04}, {90, 0.02}, {180, 0}, {270, 0.02}, {360, 0.09}}, Options{Resolution: 0.001})
	assert.True(t, r.Refused, "half of the movement")
	assert.InDeltaSlice(t, []float64{0.05}, noted.Figures(r.Notes, analysis.OffByTurn), 1e-9)
	r = Measure([]Point{{0, 1}, {45, 2}, {90, 3}, {135, 2}, {180, 3}, {225, 2}, {270, 3}, {315, 2}}, Options{})
	assert.Equal(t, 0.0, math.Mod(r.H2.PhaseDeg, 180)-r.H2.PhaseDeg)
	assert.Len(t, r.Notes, 0)
}

// What the display hides is no outlier: a third of a count is scatter enough, and
// three counts are the least that stand out.
func TestDisplayIsNoOutlier(t *testing.T) {
	sine := func(n int, round float64) (p []Point) {
		for i := range n {
			a := 360 * float64(i) / float64(n)
			v := 0.03 * math.Cos((a-20)*math.Pi/180)
			if round > 0 {
				v = math.Round(v/round) * round
			}
			p = append(p, Point{a, v})
		}
		return p
	}
	eight := sine(8, 0)
	eight[5].Value += 0.004
	assert.Empty(t, Measure(eight, Options{Resolution: 0.001}).Doubtful)
	eight[5].Value += 0.05
	assert.Equal(t, []int{5}, Measure(eight, Options{Resolution: 0.001}).Doubtful)
	for counts, want := range map[float64][]int{1: nil, 2: nil, 5: {11}} {
		many := sine(24, 0.001)
		many[11].Value += counts * 0.001
		assert.Equal(t, want, Measure(many, Options{Resolution: 0.001}).Doubtful, "%g counts", counts)
	}
}

func TestHowManyTurnsAreSaid(t *testing.T) {
	w := wobble{a1: 0.03, p1: 70, a2: 0.004, noise: 0.0003, step: 0.001}
	one := MeasureTurn(w.turning(rand.New(rand.NewSource(4)), 1, 12, 20), Options{})
	assert.InDeltaSlice(t, []float64{12}, noted.Figures(one.Notes, analysis.OneTurnSeen), 0.05)
	two := MeasureTurn(w.turning(rand.New(rand.NewSource(4)), 2, 12, 20), Options{})
	assert.InDeltaSlice(t, []float64{2, 12}, noted.Figures(two.Notes, analysis.TurnsSeen), 0.1)
	// A knock of a seventh of the movement is named and does not spoil the value.
	s := w.turning(rand.New(rand.NewSource(4)), 2, 12, 50)
	for i := range s {
		if s[i].T > 5 {
			s[i].X += 0.009
		}
	}
	knocked := MeasureTurn(s, Options{})
	assert.Contains(t, knocked.Faults, analysis.ZeroShift)
	assert.False(t, knocked.Refused)
}

// A flat face is known as well as its display shows it.
func TestFlatFace(t *testing.T) {
	var points []Point
	for deg := 0.0; deg < 360; deg += 45 {
		points = append(points, Point{deg, 0.1})
	}
	r := Measure(points, Options{Resolution: 0.01})
	assert.Zero(t, r.FIM)
	assert.InDelta(t, math.Sqrt2*gum.Resolution(0.01), r.FIMU, 1e-9)
	assert.Zero(t, differenceVariance([]float64{0, 90, 180, 270}, []int{1}, 30, 30))
	assert.InDelta(t, 2, differenceVariance([]float64{0, 90, 180, 270}, []int{1}, 0, 180), 1e-9, "four readings, twice the amplitude: 4·2/4")
}

// A smoothed surface has two levels, each of the readings of some 12° about it: of 120
// in the turn four, and so half of the variance of one. What counts as its noise is
// what neighbours do not share: of a sine six times round a step of 3° goes by
// 2·sin 9° of it at most.
func TestLevelsOfASmoothedSurface(t *testing.T) {
	var angle, value []float64
	for i := range 120 {
		angle = append(angle, 3*float64(i))
		value = append(value, 0.05*math.Cos(6*3*float64(i)*math.Pi/180))
	}
	c := surface(angle, value, 120, 0.001)
	assert.InDelta(t, 0.5, c.knows, 1e-12)
	assert.InEpsilon(t, 0.05*2*math.Sin(9*math.Pi/180)*2/math.Pi*math.Sqrt(math.Pi)/2, c.noise, 0.02)
	assert.Equal(t, c.noise, c.rest)
	assert.InDelta(t, 111, c.dof, 0)
}
