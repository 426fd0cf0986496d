package motion

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// turned is an invented surface passing at a steady pace between two rests.
func turned(before, turns, period, after, rate, noise float64, shape func(deg float64) float64) []analysis.Sample {
	rnd := rand.New(rand.NewPCG(5, 8))
	var s []analysis.Sample
	for i := range int((before + turns*period + after) * rate) {
		t := float64(i) / rate
		deg := 360 * math.Min(math.Max(t-before, 0), turns*period) / period
		s = append(s, analysis.Sample{T: t, X: math.Round(1000*(shape(deg)+noise*rnd.NormFloat64())) / 1000})
	}
	return s
}

// wobble has once and twice a turn, and a bump that neither shows.
func wobble(deg float64) float64 {
	r := math.Pi / 180
	return 0.3 + 0.03*math.Cos((deg-70)*r) + 0.008*math.Cos(2*(deg-20)*r)
}

func TestFindTurn(t *testing.T) {
	for _, turns := range []float64{1, 1.3, 2, 2.5, 3.7, 6, 12, 20} {
		t.Run(fmt.Sprint(turns), func(t *testing.T) {
			fit := FindTurn(turned(0, turns, 8, 0, 25, 0.0005, wobble))
			assert.InDelta(t, turns, fit.Turns, 0.03*turns)
			assert.InDelta(t, 8, fit.Period, 0.1)
			assert.Greater(t, fit.Explained, 0.99)
		})
	}
	for name, s := range map[string][]analysis.Sample{
		"nothing":           nil,
		"eleven readings":   turned(0, 1, 1, 0, 11, 0, wobble),
		"held":              turned(0, 2, 8, 0, 25, 0, func(float64) float64 { return 0.5 }),
		"noise and no turn": turned(0, 2, 8, 0, 25, 0.01, func(float64) float64 { return 0.5 }),
		"at one moment":     make([]analysis.Sample, 40),
	} {
		fit := FindTurn(s)
		assert.Equal(t, 1.0, fit.Turns, name)
		assert.InDelta(t, analysis.Span(s), fit.Period, 0.11, name)
		assert.Less(t, fit.Explained, 0.3, name)
	}
	// Twelve readings and a twelfth of a turn more to where it began.
	fit := FindTurn(turned(0, 1, 12, 0, 1, 0, wobble))
	assert.InDelta(t, 12, fit.Period, 1e-9)
}

// A drift is none of the turn's: the same place reads higher each time.
func TestFindTurnUnderDrift(t *testing.T) {
	s := turned(0, 3, 8, 0, 25, 0.0003, wobble)
	for i := range s {
		s[i].X += 0.01 * s[i].T / 8
	}
	fit := FindTurn(s)
	assert.InDelta(t, 3, fit.Turns, 0.05)
	assert.Greater(t, fit.Explained, 0.99)
}

func TestTurningBetweenRests(t *testing.T) {
	for _, c := range []struct{ before, turns, after float64 }{
		{0, 2.5, 0}, {6, 2.5, 0}, {0, 2.5, 6}, {3, 2.5, 12}, {30, 1, 0}, {0, 1, 30}, {20, 3, 20},
	} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			s := turned(c.before, c.turns, 10, c.after, 20, 0.0004, wobble)
			part, fit := Turning(s, 0.001)
			require.NotEmpty(t, part)
			assert.InDelta(t, c.before, part[0].T, 0.7)
			assert.InDelta(t, c.before+10*c.turns, part[len(part)-1].T, 0.7)
			assert.InDelta(t, 10, fit.Period, 0.6)
		})
	}
}

// A high spot that passes slowly at either end is as even as a rest.
func TestTurningKeepsTheEnds(t *testing.T) {
	s := turned(0, 1, 30, 0, 20, 0.0002, func(deg float64) float64 { return 0.02 * math.Cos(deg*math.Pi/180) })
	part, _ := Turning(s, 0.001)
	assert.Len(t, part, len(s))
	few := turned(0, 1, 10, 0, 1.1, 0, wobble)
	part, _ = Turning(few, 0.001)
	assert.Len(t, part, len(few))
}

func TestRests(t *testing.T) {
	s := turned(4, 2, 10, 3, 20, 0.0004, wobble)
	from, to := rests(s, 0.001)
	assert.InDelta(t, 80, from, 10)
	assert.InDelta(t, 20*24, to, 10)
	s[10].X, s[11].X, s[12].X = 0.5, 0.5, 0.5
	wild, _ := rests(s, 0.001)
	assert.InDelta(t, 80, wild, 10, "three wild readings are no turning")
	s[13].X = 0.5
	wild, _ = rests(s, 0.001)
	assert.Zero(t, wild, "four are")
	short := turned(0.8, 2, 10, 0.8, 20, 0.0004, wobble)
	from, to = rests(short, 0.001)
	assert.Zero(t, from, "less than a second is no rest")
	assert.Len(t, short, to)
	coarse := turned(5, 2, 10, 5, 20, 0.0004, func(deg float64) float64 { return 0.002 * math.Cos(deg*math.Pi/180) })
	from, to = rests(coarse, 0.001)
	assert.Zero(t, from, "too little movement to tell")
	assert.Len(t, coarse, to)
}

func TestPacked(t *testing.T) {
	var s []analysis.Sample
	for i := range 10 {
		s = append(s, analysis.Sample{T: float64(i), X: float64(i * i)})
	}
	assert.Equal(t, s, Packed(s, 10))
	assert.Equal(t, []analysis.Sample{{T: 1, X: 1}, {T: 4, X: 16}, {T: 7, X: 49}, {T: 9, X: 81}}, Packed(s, 4), "means of times, medians of readings, the last share short")
	p := Packed(s, 4)
	tt, x := analysis.Times(p), analysis.Values(p)
	assert.Equal(t, []float64{1, 4, 7, 9}, tt)
	assert.Equal(t, []float64{1, 16, 49, 81}, x)
	assert.Len(t, Packed(s, 9), 5)
}

func TestCalmed(t *testing.T) {
	s := turned(0, 2, 10, 0, 20, 0.0005, wobble)
	wild := append([]analysis.Sample(nil), s...)
	for _, i := range []int{0, 50, 51, 52, 399} {
		wild[i].X += 0.2
	}
	calm := calmed(wild, 0.001)
	for i := range s {
		assert.InDelta(t, s[i].X, calm[i].X, 0.008, i)
	}
	assert.InDelta(t, s[50].X+0.2, wild[50].X, 1e-12, "the caller's readings stay")
}

func TestScanned(t *testing.T) {
	dips := func(r float64) float64 { // a deep one between steps, and a shallow one
		return math.Min(1e-6+math.Pow(r-2.0137, 2), 0.5+math.Pow(r-3.013, 2))
	}
	rates, rss := scanned(dips, 4)
	require.Len(t, rss, len(rates))
	assert.InDelta(t, 1, rates[0], 1e-12)
	assert.InDelta(t, 4, rates[len(rates)-1], 0.021)
	best, shallow := 0, 0
	for i, r := range rates {
		assert.InDelta(t, dips(r), rss[i], 1e-12)
		if rss[i] < rss[best] {
			best = i
		}
		if math.Abs(r-3.02) < 1e-9 {
			shallow = i
		}
	}
	assert.InDelta(t, 2.0137, rates[best], 1e-4, "followed to its bottom")
	assert.NotZero(t, shallow, "not worth following")
}

func TestOvertone(t *testing.T) {
	for _, c := range []struct {
		name       string
		double     float64 // what the second dip leaves, the first leaving 1 of 100
		at         float64 // its rate, the first at 2
		want       int
		background float64
	}{
		{"leaves little more", 3.9, 4, 3, 50}, {"leaves much more", 4.1, 4, 1, 50}, {"not twice", 3, 4.2, 1, 50}, {"about twice", 3, 4.07, 3, 50},
		{"three times", 3, 6, 3, 50}, {"one and a half", 3, 3, 1, 50}, {"no dip", 3, 4, 1, 2},
	} {
		rates := []float64{1.5, 2, 2.5, c.at, 7}
		rss := []float64{50, 1, 50, c.double, c.background}
		assert.Equal(t, c.want, overtone(rates, rss, 1, 100), c.name)
	}
	assert.Equal(t, 1, overtone([]float64{1, 2, 3, 4, 5}, []float64{9, 4, 9, 11, 12}, 1, 100), "a tenth of all is too much to leave")
}

func TestTurnRSS(t *testing.T) {
	var at, x []float64
	total := 0.0
	for i := range 200 {
		s := 0.1 * float64(i)
		at = append(at, s)
		v := 3 + math.Cos(2*math.Pi*s/8) + 0.5*math.Sin(4*math.Pi*s/8) + 0.3*math.Cos(6*math.Pi*s/8) + 0.2*math.Sin(8*math.Pi*s/8)
		x = append(x, v)
	}
	for _, v := range x {
		total += (v - 3) * (v - 3)
	}
	assert.Less(t, turnRSS(at, x, 8, 2.5), 1e-9*total)
	assert.Greater(t, turnRSS(at, x, 7, 2.8), 0.2*total, "another period")
	for i := range x {
		x[i] += 0.4 * at[i]
	}
	assert.Less(t, turnRSS(at, x, 8, 2.5), 1e-9*total, "a drift is let go")
	assert.Greater(t, turnRSS(at, x, 8, 1.5), 0.1*total, "but not of what may be one turn")
}

func TestEven(t *testing.T) {
	noise := rand.New(rand.NewPCG(1, 1))
	var flat, ramp, bow, short []float64
	for i := range 200 {
		u := float64(i)/100 - 1
		e := 0.1 * noise.NormFloat64()
		flat, ramp, bow = append(flat, e), append(ramp, e+u), append(bow, e+u*u)
	}
	assert.True(t, even(flat))
	assert.False(t, even(ramp), "goes up")
	assert.False(t, even(bow), "a high spot")
	for i := range flat {
		if i >= 155 {
			short = append(short, 5)
			continue
		}
		short = append(short, flat[i])
	}
	assert.True(t, even(short), "the last quarter may have begun to move")
	assert.True(t, even([]float64{0, 1, 2, 3}), "too few to tell")
	weak := make([]float64, 200)
	for i := range weak { // the ramp explains 0.64 or 0.4 of it
		weak[i] = 0.4*(float64(i)/75-1) + 0.173*float64(1-2*(i/2%2))
	}
	assert.False(t, even(weak))
	for i := range weak {
		weak[i] = 0.25*(float64(i)/75-1) + 0.18*float64(1-2*(i/2%2))
	}
	assert.True(t, even(weak))
}

func TestRestLength(t *testing.T) {
	assert.Equal(t, 6, restLength([]float64{0, 0.1, 0, -0.1, 0, 0.1, 5, 5, 5, 5, 5, 5}, 0.2))
	assert.Equal(t, 11, restLength([]float64{0, 0.1, 0, 5, 5, 5, 0.1, 0, 0, 0, 0, 0}, 0.2), "three wild ones")
	assert.Equal(t, 3, restLength([]float64{0, 0.1, 0, 5, 5, 5, 5, 0, 0, 0, 0, 0}, 0.2), "four are none")
	assert.Equal(t, 1, restLength([]float64{7, 7}, 0.2))
}

func TestCalmedReach(t *testing.T) {
	s := make([]analysis.Sample, 60)
	for i := range s {
		s[i] = analysis.Sample{T: float64(i), X: 0.001 * float64(i%5)}
	}
	for _, i := range []int{20, 21, 22} {
		s[i].X = 1
	}
	for _, i := range []int{40, 41, 42, 43} {
		s[i].X = 1
	}
	s[50].X = 0.03
	calm := calmed(s, 0.001)
	assert.Less(t, calm[21].X, 0.01, "three in a row are wild")
	assert.Equal(t, 1.0, calm[41].X, "four are not")
	assert.Less(t, calm[50].X, 0.01)
	assert.Less(t, calmed(s, 0.007)[50].X, 0.01)
	assert.Equal(t, 0.03, calmed(s, 0.01)[50].X, "three steps of the display are no wildness")
}

// An uneven hand makes two turns unlike: one long turn with harmonics to spare
// would explain the trace a little better.
func TestFindTurnOfAnUnevenHand(t *testing.T) {
	found := 0
	for seed := range 20 {
		rnd := rand.New(rand.NewPCG(uint64(seed), 3))
		period, phase := 12+10*rnd.Float64(), 7*rnd.Float64()
		var s []analysis.Sample
		for at := 0.0; at < 2*period; at += 0.1 {
			deg := 360/period*at + 8*math.Sin(2*math.Pi*at/period/1.3+phase) + 6*math.Sin(2*math.Pi*at/period/0.37)
			s = append(s, analysis.Sample{T: at, X: 0.02 * math.Cos(deg*math.Pi/180)})
		}
		if math.Abs(FindTurn(s).Turns-2) < 0.15 {
			found++
		}
	}
	assert.GreaterOrEqual(t, found, 15, "of 20")
}

func TestRestsInNoise(t *testing.T) {
	s := turned(4, 2, 10, 0, 20, 0.002, wobble)
	from, _ := rests(s, 0.0001)
	assert.InDelta(t, 80, from, 12, "2.5 deviations of the noise either way")
}
