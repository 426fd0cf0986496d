package analysis

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCompareStages(t *testing.T) {
	before := pointsOf(0.002, 0.17, 0.18, 0.175, 0.165)
	after := pointsOf(0.002, 0.14, 0.151, 0.144, 0.136)
	c := CompareStages(before, after)
	assert.True(t, c.Significant)
	assert.InDelta(t, -0.02975, c.Mean, 1e-9)
	assert.Len(t, c.Positions, 4)
	assert.True(t, c.Positions[0].Significant)
	assert.Empty(t, c.Unpaired)

	same := CompareStages(before, pointsOf(0.002, 0.172, 0.179, 0.176, 0.164))
	assert.False(t, same.Significant)

	unknown := CompareStages(pointsOf(0, 0.17, 0.18), pointsOf(math.NaN(), 0.2, 0.21))
	assert.False(t, unknown.Significant)
	assert.False(t, unknown.Positions[0].Significant)

	// Close agreement by luck claims no more than the readings know.
	lucky := CompareStages(pointsOf(0.01, 0.1, 0.2), pointsOf(0.01, 0.105, 0.205))
	assert.False(t, lucky.Significant)
	assert.InDelta(t, 0.01*math.Sqrt2, lucky.U, 1e-9, "what is not known apart is common")
	own := []RoundPoint{{1, 0, 0.1, 0.01, 0.006}, {2, 90, 0.2, 0.01, 0.006}}
	parted := CompareStages(own, own)
	assert.InDelta(t, math.Sqrt(2*0.006*0.006/2+2*0.008*0.008), parted.U, 1e-9, "0.006 of its own averages, 0.008 does not")
	over := []RoundPoint{{1, 0, 0.1, 0.01, 0.03}, {2, 90, 0.2, 0.01, 0.03}}
	assert.InDelta(t, 0.01, CompareStages(over, over).U, 1e-9, "no part is more than the whole")

	// Scatter beyond the stated uncertainty counts, with its few degrees of
	// freedom.
	wild := CompareStages(pointsOf(0.001, 0.1, 0.1, 0.1), pointsOf(0.001, 0.13, 0.11, 0.15))
	assert.InDelta(t, 4.302653, wild.K, 1e-6)
	assert.False(t, wild.Significant)

	// One position alone is known as well as its two readings.
	half := CompareStages(pointsOf(0.003, 0.1, 0.1), []RoundPoint{{1, 0, 0.108, 0.004, 0}, {2, 180, 0.111, math.NaN(), 0}})
	assert.InDelta(t, 0.005, half.Positions[0].U, 1e-12)
	assert.False(t, half.Positions[0].Significant, "0.008 is within 1.96·0.005")
	assert.True(t, math.IsNaN(half.Positions[1].U))
	unstated := CompareStages(pointsOf(0.003, 0.1), pointsOf(0, 0.2)).Positions[0]
	assert.True(t, math.IsNaN(unstated.U), "no doubt stated is none known")
	assert.False(t, unstated.Significant)
	assert.True(t, CompareStages(pointsOf(0.003, 0.1), []RoundPoint{{1, 0, 0.11, 0.004, 0}}).Positions[0].Significant, "0.010 is not")
	assert.InDelta(t, 1.959964, lucky.K, 1e-6)

	parts := CompareStages(before[:3], after[1:])
	assert.Equal(t, []int{1, 4}, parts.Unpaired)
	none := CompareStages(nil, after)
	assert.True(t, math.IsNaN(none.Mean))
}

// Two rounds of eight positions by the same hand or by another, with the plunger
// set down anew: what it makes of all positions alike is in the uncertainty of the
// mean, and no number of positions takes it out.
func TestChangeByAnotherHand(t *testing.T) {
	const runs = 2000
	rnd := rand.New(rand.NewSource(9))
	for _, c := range []struct {
		name        string
		common      float64 // standard deviation of what a round has in common, mm
		moved       float64
		least, most float64 // share seen
	}{
		{"set down anew, nothing moved", 0.0025, 0, 0, 0.05},
		{"the same hand, nothing moved", 0, 0, 0, 0.05},
		{"set down anew, 20 µm", 0.0025, 0.020, 0.95, 1},
		{"the same hand, 10 µm", 0, 0.010, 0.95, 1},
	} {
		seen := 0.0
		round := func(moved float64) (p []RoundPoint) {
			shift := moved + c.common*rnd.NormFloat64()
			for i := range 8 {
				p = append(p, RoundPoint{i + 1, 45 * float64(i), 0.17 + shift + 0.001*rnd.NormFloat64(), math.Hypot(0.001, 0.0025), 0.001})
			}
			return p
		}
		for range runs {
			if CompareStages(round(0), round(c.moved)).Significant {
				seen++
			}
		}
		assert.GreaterOrEqual(t, seen/runs, c.least, c.name)
		assert.LessOrEqual(t, seen/runs, c.most+0.01, c.name)
	}
}

// The factor and the uncertainty of a mean change by hand: scatter with two degrees
// of freedom beside a common part that is as good as stated.
func TestFactorOfAMeanChange(t *testing.T) {
	round := func(u, random float64, v ...float64) (p []RoundPoint) {
		for i, x := range v {
			p = append(p, RoundPoint{i + 1, 90 * float64(i), x, u, random})
		}
		return p
	}
	// Differences 0.010, 0.014 and 0.018: 0.004/sqrt(3) of the mean, and a common
	// part of 0.003 in either round.
	c := CompareStages(round(0.003, 0, 0.1, 0.1, 0.1), round(0.003, 0, 0.110, 0.114, 0.118))
	own, shared := 0.004/math.Sqrt(3), 0.003*math.Sqrt2
	assert.InDelta(t, math.Hypot(own, shared), c.U, 1e-12)
	dof := 2 * math.Pow(math.Hypot(own, shared)/own, 4) // 38.2
	assert.InDelta(t, 38.2, dof, 0.1)
	assert.InDelta(t, 2.024394, c.K, 1e-6, "t for 38")
	// Nothing differs from position to position: the normal factor.
	still := CompareStages(round(0.003, 0, 0.1, 0.1), round(0.003, 0, 0.109, 0.109))
	assert.InDelta(t, 1.959964, still.K, 1e-6)
	assert.True(t, still.Significant, "0.0090 is more than 1.96 times 0.0042")
	assert.False(t, CompareStages(round(0.003, 0, 0.1, 0.1), round(0.003, 0, 0.108, 0.108)).Significant)
}
