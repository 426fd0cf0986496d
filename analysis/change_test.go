package analysis

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
)

func TestCompareStages(t *testing.T) {
	before := pointsOf(0.002, 0.17, 0.18, 0.175, 0.165)
	after := pointsOf(0.002, 0.14, 0.151, 0.144, 0.136)
	c := CompareStages(before, after, Same{})
	assert.True(t, c.Significant)
	assert.InDelta(t, -0.02975, c.Mean, 1e-9)
	assert.Len(t, c.Positions, 4)
	assert.True(t, c.Positions[0].Significant)
	assert.Empty(t, c.Unpaired)

	same := CompareStages(before, pointsOf(0.002, 0.172, 0.179, 0.176, 0.164), Same{})
	assert.False(t, same.Significant)

	unknown := CompareStages(pointsOf(0, 0.17, 0.18), pointsOf(math.NaN(), 0.2, 0.21), Same{})
	assert.False(t, unknown.Significant)
	assert.False(t, unknown.Positions[0].Significant)

	// Close agreement by luck claims no more than the readings know.
	lucky := CompareStages(pointsOf(0.01, 0.1, 0.2), pointsOf(0.01, 0.105, 0.205), Same{})
	assert.False(t, lucky.Significant)
	assert.InDelta(t, 0.01*math.Sqrt2, lucky.U, 1e-9, "what is not known apart is common")
	own := []RoundPoint{{1, 0, 0.1, 0.01, 0.006, 0}, {2, 90, 0.2, 0.01, 0.006, 0}}
	parted := CompareStages(own, own, Same{})
	assert.InDelta(t, math.Sqrt(2*0.006*0.006/2+2*0.008*0.008), parted.U, 1e-9, "0.006 of its own averages, 0.008 does not")
	over := []RoundPoint{{1, 0, 0.1, 0.01, 0.03, 0}, {2, 90, 0.2, 0.01, 0.03, 0}}
	assert.InDelta(t, 0.01, CompareStages(over, over, Same{}).U, 1e-9, "no part is more than the whole")

	// Scatter beyond the stated uncertainty counts, with its few degrees of
	// freedom.
	wild := CompareStages(pointsOf(0.001, 0.1, 0.1, 0.1), pointsOf(0.001, 0.13, 0.11, 0.15), Same{})
	assert.InDelta(t, 4.302653, wild.K, 1e-6)
	assert.False(t, wild.Significant)

	// One position alone is known as well as its two readings.
	half := CompareStages(pointsOf(0.003, 0.1, 0.1), []RoundPoint{{1, 0, 0.108, 0.004, 0, 0}, {2, 180, 0.111, math.NaN(), 0, 0}}, Same{})
	assert.InDelta(t, 0.005, half.Positions[0].U, 1e-12)
	assert.False(t, half.Positions[0].Significant, "0.008 is within 1.96·0.005")
	assert.True(t, math.IsNaN(half.Positions[1].U))
	unstated := CompareStages(pointsOf(0.003, 0.1), pointsOf(0, 0.2), Same{}).Positions[0]
	assert.True(t, math.IsNaN(unstated.U), "no doubt stated is none known")
	assert.False(t, unstated.Significant)
	assert.True(t, CompareStages(pointsOf(0.003, 0.1), []RoundPoint{{1, 0, 0.11, 0.004, 0, 0}}, Same{}).Positions[0].Significant, "0.010 is not")
	assert.InDelta(t, 1.959964, lucky.K, 1e-6)

	parts := CompareStages(before[:3], after[1:], Same{})
	assert.Equal(t, []int{1, 4}, parts.Unpaired)
	none := CompareStages(nil, after, Same{})
	assert.True(t, math.IsNaN(none.Mean))
}

// rectangle is a draw from within ±a.
func rectangle(rnd *rand.Rand, a float64) float64 { return a * (2*rnd.Float64() - 1) }

// Two rounds of eight positions. What another hand, or a plunger set down anew,
// makes of all positions alike is in the uncertainty of the mean, and no number of
// positions takes it out. With the hand as it is assumed, within ±4.6 µm, no test
// sees 10 µm by another hand in 95 %: the difference of two hands alone spreads
// over ±7.1 µm, and the best test at 5 %, which asks for more than that, sees 10 µm
// in 70 %. It takes one hand, or two that were measured.
func TestChangeByAnotherHand(t *testing.T) {
	const runs = 1200
	const own, setting, wide, measured = 0.001, 0.001, 0.0046, 0.0012
	rnd := rand.New(rand.NewSource(9))
	for _, c := range []struct {
		name        string
		hand        float64 // half width of what a hand makes of all positions, mm
		oneHand     bool    // did both rounds
		oneMounting bool
		told        Same // what the comparison is told
		moved       float64
		least, most float64 // share seen
	}{
		{"another hand, set down anew", wide, false, false, Same{}, 0, 0.03, 0.07},
		{"another hand, set down anew, 10 µm", wide, false, false, Same{}, 0.010, 0.65, 0.75},
		{"another hand, set down anew, 14 µm", wide, false, false, Same{}, 0.014, 0.91, 1},
		{"the same hand, not told so", wide, true, false, Same{}, 0, 0, 0.05},
		{"the same hand, set down anew", wide, true, false, Same{Hand: true}, 0, 0.03, 0.07},
		{"the same hand, set down anew, 10 µm", wide, true, false, Same{Hand: true}, 0.010, 0.99, 1},
		{"the same hand, left standing, 6 µm", wide, true, true, Same{Hand: true, Mounting: true}, 0.006, 0.99, 1},
		{"the same hand, left standing", wide, true, true, Same{Hand: true, Mounting: true}, 0, 0.03, 0.07},
		{"another hand, both measured", measured, false, false, Same{}, 0, 0.03, 0.07},
		{"another hand, both measured, 10 µm", measured, false, false, Same{}, 0.010, 0.99, 1},
	} {
		seen := 0.0
		for range runs {
			hand, mounting := rectangle(rnd, c.hand), setting*rnd.NormFloat64()
			round := func(moved float64) (p []RoundPoint) {
				if !c.oneHand {
					hand = rectangle(rnd, c.hand)
				}
				if !c.oneMounting {
					mounting = setting * rnd.NormFloat64()
				}
				shift := 0.17 + moved + hand + mounting
				if c.oneHand {
					shift += rectangle(rnd, handDiffers*c.hand) // of the day
				}
				for i := range 8 {
					u := math.Sqrt(own*own + setting*setting + c.hand*c.hand/3)
					p = append(p, RoundPoint{i + 1, 45 * float64(i), shift + own*rnd.NormFloat64(), u, own, c.hand / math.Sqrt(3)})
				}
				return p
			}
			if CompareStages(round(0), round(c.moved), c.told).Significant {
				seen++
			}
		}
		t.Logf("%s: %.3f", c.name, seen/runs)
		assert.GreaterOrEqual(t, seen/runs, c.least, c.name)
		assert.LessOrEqual(t, seen/runs, c.most, c.name)
	}
	// The best test at 5 % for errors of a known symmetric spread that falls off to
	// both sides: beyond what 95 % of them stay within (Neyman and Pearson).
	const draws = 200000
	rest := math.Sqrt2 * math.Hypot(setting, own/math.Sqrt(8))
	beyond, above := gum.Convolved(rest, wide, wide), 0.0
	for range draws {
		if rectangle(rnd, wide)+rectangle(rnd, wide)+rest*rnd.NormFloat64() > beyond-0.010 {
			above++
		}
	}
	assert.InDelta(t, 0.704, above/draws, 0.01, "no test sees more of 10 µm")
}

// The factor and the uncertainty of a mean change by hand: scatter with two degrees
// of freedom beside a common part that is as good as stated.
func TestFactorOfAMeanChange(t *testing.T) {
	round := func(u, random float64, v ...float64) (p []RoundPoint) {
		for i, x := range v {
			p = append(p, RoundPoint{i + 1, 90 * float64(i), x, u, random, 0})
		}
		return p
	}
	// Differences 0.010, 0.014 and 0.018: 0.004/sqrt(3) of the mean, and a common
	// part of 0.003 in either round.
	c := CompareStages(round(0.003, 0, 0.1, 0.1, 0.1), round(0.003, 0, 0.110, 0.114, 0.118), Same{})
	own, shared := 0.004/math.Sqrt(3), 0.003*math.Sqrt2
	assert.InDelta(t, math.Hypot(own, shared), c.U, 1e-12)
	dof := 2 * math.Pow(math.Hypot(own, shared)/own, 4) // 38.2
	assert.InDelta(t, 38.2, dof, 0.1)
	assert.InDelta(t, 2.024394, c.K, 1e-6, "t for 38")
	// Nothing differs from position to position: the normal factor.
	still := CompareStages(round(0.003, 0, 0.1, 0.1), round(0.003, 0, 0.109, 0.109), Same{})
	assert.InDelta(t, 1.959964, still.K, 1e-6)
	assert.True(t, still.Significant, "0.0090 is more than 1.96 times 0.0042")
	assert.False(t, CompareStages(round(0.003, 0, 0.1, 0.1), round(0.003, 0, 0.108, 0.108), Same{}).Significant)
}

// The doubt of a mean change by its parts, worked by hand. Two hands within ±a make
// a triangle, 95 % of which is 1-√0.05 of 2a.
func TestPartsOfAChange(t *testing.T) {
	const a, own, setting = 0.006, 0.0001, 0.002
	hand := a / math.Sqrt(3)
	round := func(shift, own, hand, setting float64) (p []RoundPoint) {
		for i := range 4 {
			p = append(p, RoundPoint{i + 1, 90 * float64(i), 0.15 + shift, math.Sqrt(own*own + hand*hand + setting*setting), own, hand})
		}
		return p
	}
	two := CompareStages(round(0, own, hand, 0), round(0.010, own, hand, 0), Same{})
	assert.InDelta(t, math.Sqrt(2*hand*hand+2*own*own/4), two.U, 1e-9)
	assert.InEpsilon(t, 2*a*(1-math.Sqrt(0.05)), two.K*two.U, 0.003)
	assert.True(t, two.Significant, "10 is more than 9.3")
	assert.False(t, CompareStages(round(0, own, hand, 0), round(0.009, own, hand, 0), Same{}).Significant)

	one := CompareStages(round(0, own, hand, 0), round(0.004, own, hand, 0), Same{Hand: true})
	assert.InDelta(t, math.Sqrt(2*hand*hand/9+2*own*own/4), one.U, 1e-9)
	assert.InEpsilon(t, 2*a/3*(1-math.Sqrt(0.05)), one.K*one.U, 0.003)
	assert.True(t, one.Significant, "4 is more than 3.1")

	stood := CompareStages(round(0, own, hand, setting), round(0.004, own, hand, setting), Same{Hand: true, Mounting: true})
	assert.InDelta(t, one.U, stood.U, 1e-9, "the gauge stood where it was")
	moved := CompareStages(round(0, own, hand, setting), round(0.004, own, hand, setting), Same{Hand: true})
	assert.InDelta(t, math.Sqrt(one.U*one.U+2*setting*setting), moved.U, 1e-9)
	assert.InDelta(t, moved.U, math.Sqrt(2)*math.Sqrt(own*own/4+hand*hand/9+setting*setting), 1e-9)
	unknown := CompareStages(round(0, own, 0, setting), round(0.004, own, 0, setting), Same{Hand: true, Mounting: true})
	assert.InDelta(t, math.Sqrt(2*own*own/4+2*setting*setting), unknown.U, 1e-9, "some of it may be the hand's")
	assert.InDelta(t, gum.HalfWidthFactor, unknown.K, 1e-6)
}
