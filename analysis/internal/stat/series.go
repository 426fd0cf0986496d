package stat

import (
	"math"
	"slices"
)

// Differences returns the steps from each value to the next; one of 0 where
// there is none.
func Differences(x []float64) []float64 {
	d := make([]float64, 0, len(x))
	for i := 1; i < len(x); i++ {
		d = append(d, x[i]-x[i-1])
	}
	if len(d) == 0 {
		return []float64{0}
	}
	return d
}

// DisplayStep returns the step of the display that the readings came from: the
// largest number that all their differences are multiples of. It is 0 when all
// are alike, and when they are not rounded to any step.
func DisplayStep(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	if len(s) < 2 {
		return 0
	}
	tolerance := 1e-9 * math.Max(math.Abs(s[0]), math.Abs(s[len(s)-1]))
	step := 0.0
	for i := 1; i < len(s); i++ {
		a, b := step, s[i]-s[i-1]
		if b <= tolerance {
			continue
		}
		for b > tolerance { // Euclid's algorithm
			rest := math.Mod(a, b)
			if rest > b-tolerance {
				rest = 0
			}
			a, b = b, rest
		}
		step = a
		if step < 1e3*tolerance {
			return 0
		}
	}
	return step
}

// StepOr is the step of a display where it is known, else DisplayStep.
func StepOr(known float64, x []float64) float64 {
	if known > 0 {
		return known
	}
	return DisplayStep(x)
}

// Smoothed is the running mean of x over 2·half+1 values.
func Smoothed(x []float64, half int) []float64 {
	y := make([]float64, 0, len(x))
	for i := half; i+half < len(x); i++ {
		y = append(y, Mean(x[i-half:i+half+1]))
	}
	if len(y) == 0 {
		return x
	}
	return y
}

// Extremes returns the least and the greatest of x, +Inf and -Inf for none.
func Extremes(x []float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range x {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return low, high
}
