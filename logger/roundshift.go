package logger

import (
	"fmt"
	"math"

	"crownlog/logger/record"
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

// askOfSlip asks whether a place was skipped, or measured twice, where the values
// fit those before clearly better moved by one. It changes nothing.
func (r *Round) askOfSlip() {
	before, now, u := r.roundBefore()
	from, by := slip(before, now, u)
	what := "skipped"
	switch by {
	case 0:
		return
	case -1:
		from, what = from-1, "measured twice"
	}
	r.raise("", fmt.Sprintf("Was position %d %s? The values fit those measured before much better when they are moved by one place. If so, measure all again (a). If not, go on.",
		r.visits[from].Position.Index, what))
}

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

// roundBefore is the backlash that was measured last before this round, place by
// place, with the combined standard uncertainty of a value of both; nil where there is
// none of the same wheel on the same centre, whole and with its uncertainty.
func (r *Round) roundBefore() (before, now []float64, u float64) {
	if r.cfg.Feature != record.FeatureBacklash {
		return nil, nil, 0
	}
	all := r.cfg.Store.Captures()
	newest := make([]record.Capture, len(r.slots))
	for _, c := range all[:r.begun] {
		switch k := r.visitOf(c, nil); {
		case c.Feature == record.FeatureWheelBolts || c.Feature == record.FeatureRunoutBackFace && c.Stage == record.StageFitUp:
			clear(newest) // another centre, or another place on it
		case c.Feature == r.cfg.Feature && c.Stage != record.StageAsFound && k >= 0 && c.ID != r.slots[k].ID && c.Quality != record.QualityRejected:
			newest[k], _ = r.cfg.Sheet.Convert(c)
		}
	}
	var variance float64
	for k, c := range newest {
		here := r.slots[k]
		if !(c.U > 0) || !(here.U > 0) {
			return nil, nil, 0
		}
		before, now = append(before, c.Value), append(now, here.Value)
		variance += (c.U*c.U + here.U*here.U) / float64(len(newest))
	}
	return before, now, math.Sqrt(variance)
}
