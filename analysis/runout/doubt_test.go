package runout

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// How many turns a trace has cannot be told of two counts, nor of a shape that
// comes twice.
func TestRunoutTurnsInDoubt(t *testing.T) {
	at := func(counts float64) Result {
		w := wobble{a1: counts / 2 * 0.01, p1: 50, step: 0.01}
		return MeasureTurn(w.turning(rand.New(rand.NewSource(1)), 1, 12, 20), Options{})
	}
	two := at(1.9)
	assert.Nil(t, two.H1)
	assert.True(t, math.IsNaN(two.FIMIfReseated))
	assert.Contains(t, two.Notes, analysis.TwoCounts.Of())
	assert.NotNil(t, at(3.6).H1)
	shape := func(a1, a2, a3 float64) Result {
		w := wobble{a1: a1, p1: 20, a2: a2, p2: 33, a3: a3, noise: 0.0002, step: 0.001}
		return MeasureTurn(w.turning(rand.New(rand.NewSource(1)), 1, 12, 20), Options{})
	}
	assert.Nil(t, shape(0.005, 0.03, 0).H1, "hardly once a turn")
	assert.NotNil(t, shape(0.015, 0.03, 0).H1)
	assert.NotNil(t, shape(0.005, 0.03, 0.015).H1, "three times a turn is no half of a turn either")
}

func TestIndexedOutliers(t *testing.T) {
	w := wobble{a1: 0.03, p1: 70, noise: 0.0003, step: 0.001}
	rnd := rand.New(rand.NewSource(2))
	read := func(n int, each float64) (p []Point) {
		for i := range n {
			p = append(p, Point{each * float64(i), w.read(each*float64(i), rnd)})
		}
		return p
	}
	first := read(8, 45)
	first[0].Value += 0.1
	assert.Equal(t, []int{0}, Measure(first, Options{}).Doubtful)
	thrice := read(24, 45)
	thrice[3].Value += 0.1
	thrice[13].Value -= 0.08
	assert.Equal(t, []int{3, 13}, Measure(thrice, Options{}).Doubtful, "two in three turns")
	rough := wobble{a1: 0.03, noise: 0.01, step: 0.001}
	doubted := 0
	for seed := range 40 {
		rnd := rand.New(rand.NewSource(int64(seed)))
		var p []Point
		for i := range 8 {
			p = append(p, Point{45 * float64(i), rough.read(45*float64(i), rnd)})
		}
		doubted += len(Measure(p, Options{}).Doubtful)
	}
	assert.LessOrEqual(t, doubted, 4, "scatter is no outlier: one in fifty by the test's own limit")
	flicker := read(8, 45)
	flicker[2].Value += 0.002
	assert.Empty(t, Measure(flicker, Options{}).Doubtful, "two counts are the display's")
}
