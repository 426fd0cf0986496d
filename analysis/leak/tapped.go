package leak

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// untapped takes a single step out of the pressures, as a gauge makes that stuck
// and was tapped, and returns how much wider a slope is then known: 1 where there
// is none. A step is abrupt, leaves less than two fifths of the scatter, is a
// thousandth of the pressure at least, and is more than a slow fall makes of a coarse display.
func (r *Result) untapped(p []analysis.Sample, step float64) (wider float64) {
	t, x := blockMedians(p, leakPoints)
	const side = 5 // points on either side that show a level
	jump := func(i int) float64 {
		if i < side || i > len(x)-side {
			return 0
		}
		return math.Abs(stat.Median(x[i:i+side]) - stat.Median(x[i-side:i]))
	}
	around := 0 // the medians bear two wild ones, and do not say to the point where it is
	for i := range x {
		if jump(i) > jump(around) {
			around = i
		}
	}
	plain, _, narrow := twoLevels(t, x, 0)
	best, at, size := math.Inf(1), 0, 0.0
	for i := max(side, around-2); i <= min(len(t)-side, around+2); i++ {
		if rss, step, u := twoLevels(t, x, i); rss < best {
			best, at, size, wider = rss, i, step, u/narrow
		}
	}
	if best > 0.4*plain {
		return 1
	}
	sd := math.Sqrt(best / float64(len(t)-3))
	if math.Abs(size) < math.Max(6*sd/math.Sqrt(side), math.Max(2.5*step, 1e-3*math.Abs(x[0]))) || math.Abs(x[at+1]-x[at-2]) < 0.7*math.Abs(size) {
		return 1
	}
	for i := range p {
		if p[i].T >= (t[at]+t[at-1])/2 {
			p[i].X -= size
		}
	}
	r.Faults = append(r.Faults, analysis.ZeroShift)
	r.Notes = append(r.Notes, analysis.GaugeStepped.Of(size, t[at]-t[0]))
	return wider
}

// twoLevels fits one slope and, from point i on, another level, and returns the sum
// of squares that they leave, the step from one level to the other, and the standard
// uncertainty of the slope for unit scatter. Without a point before i there is no step.
func twoLevels(t, x []float64, i int) (rss, size, u float64) {
	columns := stat.Sinusoids(t)
	columns = append(columns, t, make([]float64, len(t)))
	for j := i; j < len(t); j++ {
		columns[2][j] = 1
	}
	if i == 0 {
		columns = columns[:2]
	}
	b, us, rest, ok := stat.Weighted(columns, x, columns[0], math.Inf(1)) // each weighs one
	if !ok {
		return math.Inf(1), 0, 0
	}
	return floats.Dot(rest, rest), b[len(b)-1], us[1]
}
