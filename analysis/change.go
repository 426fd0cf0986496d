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
// scatter of the differences and what the points' own uncertainties give, so
// that rounds which happen to agree closely claim no more than they know.
// Source: JCGM 100:2008, 4.2.3; paired t test.
func CompareStages(a, b []RoundPoint) Change {
	before, after := LatestPoints(a), LatestPoints(b)
	c := Change{Mean: math.NaN(), U: math.NaN(), K: math.NaN()}
	to := make(map[int]RoundPoint, len(after))
	for _, p := range after {
		to[p.Position] = p
	}
	var changes []float64
	stated := 0.0
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
		stated += d.U * d.U
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
	c.U, c.K = math.Sqrt(stated)/n, gum.HalfWidthFactor
	if s := stat.StdDev(changes) / math.Sqrt(n); s > c.U {
		c.U, c.K = s, gum.CoverageFactor(0.95, n-1)
	}
	c.Significant = math.Abs(c.Mean) > c.K*c.U
	return c
}
