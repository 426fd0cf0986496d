package analysis

import (
	"math"
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
	assert.InDelta(t, 0.01, lucky.U, 1e-9)

	// Scatter beyond the stated uncertainty counts, with its few degrees of
	// freedom.
	wild := CompareStages(pointsOf(0.001, 0.1, 0.1, 0.1), pointsOf(0.001, 0.13, 0.11, 0.15))
	assert.InDelta(t, 4.302653, wild.K, 1e-6)
	assert.False(t, wild.Significant)

	// One position alone is known as well as its two readings.
	half := CompareStages(pointsOf(0.003, 0.1, 0.1), []RoundPoint{{1, 0, 0.108, 0.004}, {2, 180, 0.111, math.NaN()}})
	assert.InDelta(t, 0.005, half.Positions[0].U, 1e-12)
	assert.False(t, half.Positions[0].Significant, "0.008 is within 1.96·0.005")
	assert.True(t, math.IsNaN(half.Positions[1].U))
	unstated := CompareStages(pointsOf(0.003, 0.1), pointsOf(0, 0.2)).Positions[0]
	assert.True(t, math.IsNaN(unstated.U), "no doubt stated is none known")
	assert.False(t, unstated.Significant)
	assert.True(t, CompareStages(pointsOf(0.003, 0.1), []RoundPoint{{1, 0, 0.11, 0.004}}).Positions[0].Significant, "0.010 is not")
	assert.InDelta(t, 1.959964, lucky.K, 1e-6)

	parts := CompareStages(before[:3], after[1:])
	assert.Equal(t, []int{1, 4}, parts.Unpaired)
	none := CompareStages(nil, after)
	assert.True(t, math.IsNaN(none.Mean))
}
