package analysis

import (
	"math"

	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// A PositionChange is how far one position moved between two stages.
type PositionChange struct {
	Position    int
	From, To    float64
	Change      float64 // To less From
	U           float64 // standard uncertainty of Change; NaN: one of the two is not known
	Significant bool    // beyond 1.96 U
}

// A Change compares the same feature in two stages, position by position.
type Change struct {
	Positions   []PositionChange // those measured in both
	Unpaired    []int            // measured in one of them only
	Mean        float64          // mean of the changes; NaN without a pair
	U           float64          // its standard uncertainty
	K           float64          // coverage factor for 95 %
	Significant bool             // |Mean| exceeds K·U
}

// Same says what stayed as it was from one round to the next. What did not moves
// all the positions of a round alike.
type Same struct {
	Hand     bool // the same hand pressed the wheel against its stops
	Mounting bool // the gauge was not taken away, nor set down anew
}

// handDiffers is the share of a hand's part that differs from one day to the next,
// and from place to place: a hand pushes alike to a fifth or a third. Common
// practice, no source.
const handDiffers = 1.0 / 3

// CompareStages compares two rounds of a feature. Both must be in the same
// direction (ConventionFactor) and at the same radius. The mean change is
// tested as paired differences: its standard uncertainty is the larger of the
// scatter of the differences and what the points' own random parts give, so
// that rounds which happen to agree closely claim no more than they know, and
// with it the parts that are common to either round, which no number of positions
// makes less: the hand's, of which the same one leaves but handDiffers, and that of
// the gauge as it was set down, which goes out where it stayed. The hand's are
// rectangles, whose difference ends where they do: K is of the convolution.
// Sources: JCGM 100:2008, 4.2.3 and F.1.2.3; JCGM 101:2008, 5.2; paired t test.
func CompareStages(a, b []RoundPoint, same Same) Change {
	before, after := LatestPoints(a), LatestPoints(b)
	c := Change{Mean: math.NaN(), U: math.NaN(), K: math.NaN()}
	to := make(map[int]RoundPoint, len(after))
	for _, p := range after {
		to[p.Position] = p
	}
	var changes []float64
	var all parts // variances, summed over the positions
	for _, p := range before {
		q, ok := to[p.Position]
		if !ok {
			c.Unpaired = append(c.Unpaired, p.Position)
			continue
		}
		delete(to, p.Position)
		d := PositionChange{Position: p.Position, From: p.Value, To: q.Value, Change: q.Value - p.Value}
		one := partsOf(p, same).plus(partsOf(q, same))
		// One reading of unknown doubt leaves the change unproven, and then the mean too.
		d.U = math.Sqrt(one.sum())
		d.Significant = math.Abs(d.Change) > gum.HalfWidthFactor*d.U
		c.Positions = append(c.Positions, d)
		changes = append(changes, d.Change)
		all = all.plus(one)
	}
	for _, q := range after {
		if _, ok := to[q.Position]; ok {
			c.Unpaired = append(c.Unpaired, q.Position)
		}
	}
	n := float64(len(changes))
	if n == 0 {
		return c
	}
	c.Mean = stat.Mean(changes)
	mean, dof := math.Sqrt(all.own)/n, math.Inf(1)
	if s := stat.StdDev(changes) / math.Sqrt(n); s > mean {
		mean, dof = s, n-1
	}
	// Welch-Satterthwaite: the common part is as good as stated.
	c.U = math.Sqrt(mean*mean + (all.sum()-all.own)/n)
	c.K = gum.CoverageFactor(0.95, dof*math.Pow(c.U/mean, 4))
	if all.hand > 0 { // half of it either round's
		half := math.Sqrt(3 * all.hand / (2 * n))
		rest := math.Sqrt(c.U*c.U - all.hand/n)
		c.K = math.Min(c.K, c.K/gum.HalfWidthFactor*gum.Convolved(rest, half, half)/c.U)
	}
	c.Significant = math.Abs(c.Mean) > c.K*c.U
	return c
}

// parts are variances of what a value, or a change, is in doubt by.
type parts struct{ own, hand, setting float64 }

// partsOf takes a point's uncertainty apart into what may differ in the other
// round. No part is more than the whole; of one that is not known no part is.
func partsOf(p RoundPoint, same Same) parts {
	all := stat.Square(p.U)
	if !(all > 0) {
		all = math.NaN()
	}
	own := math.Min(stat.Square(p.Random), all)
	hand := math.Min(stat.Square(p.Hand), all-own)
	v := parts{own, hand, all - own - hand}
	if same.Hand {
		v.hand *= handDiffers * handDiffers
	}
	if same.Mounting && p.Hand > 0 { // else some of it may be the hand's
		v.setting = 0
	}
	return v
}

func (v parts) plus(w parts) parts {
	return parts{v.own + w.own, v.hand + w.hand, v.setting + w.setting}
}

func (v parts) sum() float64 { return v.own + v.hand + v.setting }
