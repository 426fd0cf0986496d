package rocking

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestExplain(t *testing.T) {
	r := New(Options{})
	for _, v := range (rockTrace{Seed: 5, Hands: "scripted", Backlash: 0.15, Rate: 50, Resolution: 0.001, Noise: 0.001, Rocks: 4, Dwell: 0.5, Traverse: 0.2, Creep: 0.06}).make() {
		r.Add(v)
	}
	chart := r.Explain()
	t.Log("\n" + chart)
	assert.Contains(t, chart, "chosen: both drift; base nudged: false; faults: [base-creep]")
	assert.Contains(t, chart, "both stay")
	assert.Equal(t, 9, strings.Count(chart, "#"))
	assert.NotEmpty(t, New(Options{}).Explain(), "of nothing")
}

// Where the base was nudged a stop is drawn where it would have been without, which
// may be beyond all that was read.
func TestExplainOfANudgedBase(t *testing.T) {
	const seed = 2028
	rng := rand.New(rand.NewPCG(seed, 2718))
	c := usualScene(rng, modelGauges[2])
	c.nudge, c.dwell = c.count, [2]float64{0.7, 1.2}
	r := New(Options{})
	for _, v := range c.make(seed) {
		r.Add(v)
	}
	assert.Contains(t, r.Explain(), "base nudged: true")
}
