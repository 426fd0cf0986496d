package logger

import (
	"math"
)

// When a backlash is said to fit the one before better moved on by a place: what is
// left of the differences as it is, and moved, in combined standard uncertainties of a
// value, and how many times less that is. Chosen so that of unrelated wheels 3 in 100
// are asked about at most: see the test.
const (
	fitsNot, fits = 2.0, 1.0
	betterBy      = 3.0
	leastPlaces   = 6 // that can tell it
	leastSlipped  = 3 // one or two that are off are more likely burrs
)

// slip is the place from which on the values now fit those before, each with its
// place in the slice, much better moved by one place further on (by 1) or back
// (by -1); by is 0 where they do not. u is the combined standard uncertainty of a
// difference.
func slip(before, now []float64, u float64) (from, by int) {
	n := len(before)
	if n < leastPlaces {
		return 0, 0
	}
	left := func(from, by int) float64 { // of the differences, less their mean
		var sum, squares float64
		for i, x := range now {
			at := i
			if i >= from {
				at = (i + by + n) % n
			}
			sum, squares = sum+x-before[at], squares+(x-before[at])*(x-before[at])
		}
		return math.Sqrt(max(0, squares-sum*sum/float64(n)) / float64(n-1))
	}
	plain := left(n, 0)
	best := min(plain/betterBy, fits*u)
	if plain < fitsNot*u {
		return 0, 0
	}
	for k := 0; k <= n-leastSlipped; k++ {
		for _, step := range []int{1, -1} {
			if rest := left(k, step); rest < best && (k > 0 || step > 0) {
				best, from, by = rest, k, step
			}
		}
	}
	return from, by
}
