package motion

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"crownlog/analysis"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	tt, x := thinned(s, 4)
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
