package gum

import "math"

// A Doubt is a value with what stands behind it, in one unit.
type Doubt struct {
	Value float64
	U     float64 // standard uncertainty to judge by: see Guarding
	Own   float64 // the part of U that more repeats make less
	N     int     // repeats behind it
}

// lookGuard widens the part of the uncertainty that more repeats make less while
// after each of them it is asked whether they are enough: who looks often is in
// luck once. With it a value on its limit is taken for inside in little more than
// the 5 % of a single look, by the models of the test.
const lookGuard = 1.5

// Enough returns how many repeats in all a value takes to be decided against l: N
// where it is decided already or where no number up to most is likely to decide it,
// for then more do not help; else the fewest that would if the value stayed what it
// is, or moved either way by what the further ones are expected to move it. Of a
// doubt that is not known it is N.
func (d Doubt) Enough(l Limits, most int) int {
	own := math.Min(d.Own, d.U)
	for n := d.N; n <= most; n++ {
		u := math.Sqrt(d.U*d.U - own*own*(1-lookGuard*lookGuard*float64(d.N)/float64(n)))
		moves := d.Own * math.Sqrt(1-float64(d.N)/float64(n))
		for _, v := range []float64{d.Value, d.Value - moves, d.Value + moves} {
			if Judge(v, u, l).Verdict != TooClose {
				return n
			}
		}
	}
	return d.N
}
