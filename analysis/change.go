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

// CompareStages compares two rounds of a feature. Both must be in the same
// direction (ConventionFactor) and at the same radius. The mean change is
// tested as paired differences: its standard uncertainty is the larger of the
// scatter of the differences and what the points' own random parts give, so
// that rounds which happen to agree closely claim no more than they know, and
// with it the part that is common to either round, which no number of positions
// makes less: another hand, or a plunger set down anew, moves all of them.
// Sources: JCGM 100:2008, 4.2.3 and F.1.2.3; paired t test.
func CompareStages(a, b []RoundPoint) Change {
	before, after := LatestPoints(a), LatestPoints(b)
	c := Change{Mean: math.NaN(), U: math.NaN(), K: math.NaN()}
	to := make(map[int]RoundPoint, len(after))
	for _, p := range after {
		to[p.Position] = p
	}
	var changes []float64
	random, common := 0.0, 0.0 // variances, summed over the positions
	for _, p := range before {
		q, ok := to[p.Position]
		if !ok {
			c.Unpaired = append(c.Unpaired, p.Position)
			continue
		}
		delete(to, p.Position)
		d := PositionChange{Position: p.Position, From: p.Value, To: q.Value, Change: q.Value - p.Value}
		// One reading of unknown doubt leaves the change unproven, and then the mean too.
		d.U = math.NaN()
		if p.U > 0 && q.U > 0 {
			d.U = math.Hypot(p.U, q.U)
		}
		d.Significant = math.Abs(d.Change) > gum.HalfWidthFactor*d.U
		c.Positions = append(c.Positions, d)
		changes = append(changes, d.Change)
		own := ownVariance(p) + ownVariance(q)
		random, common = random+own, common+d.U*d.U-own
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
	mean, dof := math.Sqrt(random)/n, math.Inf(1)
	if s := stat.StdDev(changes) / math.Sqrt(n); s > mean {
		mean, dof = s, n-1
	}
	// Welch-Satterthwaite: the common part is as good as stated.
	shared := math.Sqrt(common / n)
	c.U = math.Hypot(mean, shared)
	c.K = gum.CoverageFactor(0.95, dof*math.Pow(c.U/mean, 4))
	if mean == 0 {
		c.K = gum.HalfWidthFactor
	}
	c.Significant = math.Abs(c.Mean) > c.K*c.U
	return c
}

// ownVariance is the variance of the part of a point's uncertainty that is not
// common to its round, no more than all of it.
func ownVariance(p RoundPoint) float64 {
	return math.Min(stat.Square(p.Random), stat.Square(p.U))
}
