package rocking

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Explain draws what was seen in the samples so far, for whoever has to believe it: a
// line for each place where the motion turned (# at rest, + without, x left out) or paused (-),
// then each hypothesis with its parameters and minus the logarithm of its likelihood,
// the approach to the stops, and what the noise and the tolerances are.
func (r *Rocking) Explain() string {
	const width = 60 // characters, so that a line fits a terminal
	var b strings.Builder
	c, j := r.whole()
	seen := slices.Concat(j.s.turns, j.s.passed)
	lo, hi := extremes(seen)
	slices.SortFunc(seen, func(a, b stop) int { return int(math.Copysign(1, a.From-b.From)) })
	for i := range seen {
		d, mark := &seen[i], "+"
		switch {
		case slices.Contains(j.s.passed, *d):
			mark = "-"
		case d.outlier:
			mark = "x"
		case d.dwelt:
			mark = "#"
		}
		at := int(width * (d.Level - lo) / cmp.Or(hi-lo, 1))
		fmt.Fprintf(&b, "%8.2f s |%*s%s%*s| ", d.From, at, "", mark, width-at, "")
		fmt.Fprintf(&b, "%.4f, %.2f s, %d readings\n", d.Level+r.seg.Origin, d.To-d.From, d.N)
	}
	for _, h := range j.table {
		if h.cost > 0 {
			fmt.Fprintf(&b, "%8.1f  %s by %.4f\n", h.cost, h.name, h.reach(seen[len(seen)-1].t-seen[0].t))
		}
	}
	p := j.estimate(r.opt.Push, &r.past)
	w := &p.arrival
	fmt.Fprintf(&b, "chosen: %s; base nudged: %v; faults: %v\n", j.course.name, j.nudged, j.faults.list())
	for i := range causes {
		fmt.Fprintf(&b, "%8.2f  %s\n", w.odds[i], causes[i].name)
	}
	fmt.Fprintf(&b, "approach: %.5f in %.2f s; taken off %.5f ± %.5f\n", w.size, w.tau, p.taken, 2*p.creepU)
	fmt.Fprintf(&b, "swing %.5f of %.0f strokes, count %g, width of a stop %.4f\n", p.mean+p.taken, p.stops.strokes.n, c.seg.Count(), c.seg.Near())
	return b.String()
}
