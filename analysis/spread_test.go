package analysis

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
)

// Source: upper 5 % points of the studentized range for infinite degrees of
// freedom, as every table of it prints them (Pearson and Hartley, table 29).
func TestSpreadFactor(t *testing.T) {
	for n, want := range map[int]float64{2: 2.772, 3: 3.314, 4: 3.633, 5: 3.858, 8: 4.286, 10: 4.474, 20: 5.012} {
		assert.InDelta(t, want, SpreadFactor(n), 6e-4, n)
	}
	assert.Zero(t, SpreadFactor(1))
}

func spreadVerdict(points []RoundPoint, limit float64) gum.Verdict {
	return AnalyseRound(points, 0, RoundSpec{Limits: gum.NoLimits(""), MaxSpread: limit}).Verdict
}

func TestSpreadVerdicts(t *testing.T) {
	at := func(u float64, values ...float64) []RoundPoint {
		var p []RoundPoint
		for i, v := range values {
			p = append(p, RoundPoint{Position: i + 1, Value: v, U: u})
		}
		return p
	}
	eight := func(spread, u float64) []RoundPoint {
		return at(u, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16-spread/2, 0.16+spread/2)
	}
	for _, c := range []struct {
		name   string
		points []RoundPoint
		want   gum.Verdict
	}{
		{"well within", eight(0.040, 0.003), gum.Inside},
		{"within by less than its doubt", eight(0.046, 0.003), gum.TooClose},
		{"over by less than chance makes of it", eight(0.060, 0.003), gum.TooClose},
		{"over by more", eight(0.064, 0.003), gum.Outside},
		{"two points", at(0.003, 0.1, 0.1587), gum.Outside},
		{"one point", at(0.003, 0.1), gum.NotDecided},
		{"doubt unknown", at(math.NaN(), 0.1, 0.2), gum.NotDecided},
		{"doubt of one unknown", append(at(0.003, 0.1), RoundPoint{Position: 2, Value: 0.2}), gum.NotDecided},
	} {
		assert.Equal(t, c.want, spreadVerdict(c.points, 0.05), c.name)
	}
}

// Whatever the true values, a spread at its limit is not called outside, nor one
// at its limit inside, more than once in twenty.
func TestSpreadIsNotCalledByChance(t *testing.T) {
	rnd := rand.New(rand.NewSource(1))
	const rounds, u = 1000, 0.005
	for name, shape := range map[string][]float64{
		"all equal":   {0, 0, 0, 0, 0, 0, 0, 0},
		"two heaps":   {0, 0, 0, 0, 1, 1, 1, 1},
		"once around": {0, 0.15, 0.5, 0.85, 1, 0.85, 0.5, 0.15},
		"one apart":   {0, 0, 0, 0, 0, 0, 0, 1},
	} {
		for _, limit := range []float64{u, 10 * u} {
			said := map[gum.Verdict]int{}
			for range rounds {
				var p []RoundPoint
				for i, v := range shape {
					p = append(p, RoundPoint{Position: i + 1, Value: v*limit + u*rnd.NormFloat64(), U: u})
				}
				said[spreadVerdict(p, limit)]++
			}
			assert.LessOrEqual(t, said[gum.Outside], rounds*65/1000, "%s, limit %g", name, limit)
			if name != "all equal" {
				assert.LessOrEqual(t, said[gum.Inside], rounds*65/1000, "%s, limit %g", name, limit)
			}
		}
	}
}

// What a round has in common moves its largest and its smallest alike: of points
// whose parts are known it is left out, and the hand's but for a third.
func TestSpreadOfOneHand(t *testing.T) {
	points := func(random, hand float64) []RoundPoint {
		p := []RoundPoint{{Position: 1, Value: 0.150}, {Position: 2, Value: 0.170}, {Position: 3, Value: 0.160}}
		for i := range p {
			p[i].U, p[i].Random, p[i].Hand = 0.004, random, hand
		}
		return p
	}
	own := math.Hypot(0.001, 0.003/3)
	assert.InDelta(t, own, differingU(points(0.001, 0.003)), 1e-12)
	assert.InDelta(t, 0.004, differingU(points(0, 0.003)), 1e-12, "its own is not known")
	assert.InDelta(t, 0.004, differingU(points(0.001, 0)), 1e-12, "nor is the hand's")
	assert.InDelta(t, 0.004, differingU(points(0.006, 0.006)), 1e-12, "no part is more than the whole")
	assert.Equal(t, gum.Inside, spreadVerdict(points(0.001, 0.003), 0.020+1.66*math.Sqrt2*own))
	assert.Equal(t, gum.TooClose, spreadVerdict(points(0.001, 0.003), 0.020+1.64*math.Sqrt2*own))
	assert.Equal(t, gum.TooClose, spreadVerdict(points(0, 0), 0.020+1.66*math.Sqrt2*own))
}
