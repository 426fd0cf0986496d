package gum

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEnoughRepeats(t *testing.T) {
	window := Limits{0.13, 0.20, "mm"}
	for _, c := range []struct {
		name     string
		value, u float64
		own      float64
		want     int
	}{
		{"far from both limits", 0.165, 0.003, 0.002, 3},
		{"well outside", 0.22, 0.003, 0.002, 3},
		// 4.5 µm inside wants 2.73 µm, or a value moved by up to 1.6: 1 of the gauge's
		// stays, and own parts of 2·1.5 after 3 rocks are 2.32 after 5.
		{"near, and more rocks are likely to decide", 0.1955, math.Hypot(0.001, 0.002), 0.002, 4},
		{"nearer, and more of them", 0.1983, math.Hypot(0.001, 0.002), 0.002, 9},
		{"near, and no rocks help", 0.1965, 0.0026, 0.0005, 3},
		{"nothing is its own", 0.197, 0.003, 0, 3},
		{"not known", 0.197, math.NaN(), math.NaN(), 3},
	} {
		assert.Equal(t, c.want, Doubt{c.value, c.u, c.own, 3}.Enough(window, 10), c.name)
		assert.Equal(t, c.want, Doubt{0.33 - c.value, c.u, c.own, 3}.Enough(window, 10), "%s, at the other limit", c.name)
	}
	assert.Equal(t, 3, Doubt{0.19, 0.003, 0.002, 3}.Enough(NoLimits("mm"), 10))
	nearer := Doubt{0.1983, math.Hypot(0.001, 0.002), 0.002, 3}
	assert.Equal(t, 9, nearer.Enough(window, 9), "up to most")
	assert.Equal(t, 3, nearer.Enough(window, 8))
}

// verdicts counts what becomes of a true value that is rocked until Enough says so:
// a common part that rocks do not lessen, and one of each rock.
func verdicts(rnd *rand.Rand, truth, common, each float64, l Limits, most int) (inside, unsure, rocks float64) {
	const runs = 4000
	for range runs {
		shift := common * rnd.NormFloat64()
		n, sum := 0, 0.0
		for needed := 3; n < needed; {
			sum += truth + shift + each*rnd.NormFloat64()
			if n++; n >= 3 {
				own := each / math.Sqrt(float64(n))
				needed = Doubt{sum / float64(n), math.Hypot(common, own), own, n}.Enough(l, most)
			}
		}
		own := each / math.Sqrt(float64(n))
		switch Judge(sum/float64(n), math.Hypot(common, own), l).Verdict {
		case Inside:
			inside += 1.0 / runs
		case TooClose:
			unsure += 1.0 / runs
		}
		rocks += float64(n) / runs
	}
	return inside, unsure, rocks
}

// The operating curve of the verdicts: on the limit and outside, a value is called
// inside in 5 % at most though it was looked at after every rock; inside by 6 µm
// fewer stay undecided than with three rocks, and far from the limits no rock is
// made that tells nothing.
func TestOperatingCurve(t *testing.T) {
	rnd := rand.New(rand.NewSource(3))
	window := Limits{0.13, 0.20, "mm"}
	for _, c := range []struct{ common, each float64 }{{0.0015, 0.0015}, {0.0015, 0.004}, {0.0027, 0.002}, {0.0027, 0.006}} {
		for _, depth := range []float64{-0.004, 0, 0.006, 0.03} {
			threeIn, threeUnsure, _ := verdicts(rnd, 0.20-depth, c.common, c.each, window, 3)
			in, unsure, rocks := verdicts(rnd, 0.20-depth, c.common, c.each, window, 10)
			t.Logf("common %.1f µm, each rock %.1f µm, %+.0f µm inside: inside %.3f (three rocks %.3f), not sure %.2f (%.2f), %.1f rocks",
				1e3*c.common, 1e3*c.each, 1e3*depth, in, threeIn, unsure, threeUnsure, rocks)
			switch depth {
			case 0.006:
				assert.LessOrEqual(t, unsure, threeUnsure+0.02)
			case 0.03:
				assert.InDelta(t, 1, in, 0.001)
				assert.Less(t, rocks, 3.2)
			default:
				assert.LessOrEqual(t, in, 0.06)
			}
		}
	}
}
