package rocking

import "math"

// A dwell is what is kept of one. Values are relative to the first reading of the trace.
type dwell struct {
	from, to float64
	n        int
	level    float64   // trimmed mean of the settled part
	sumsq    float64   // about level, settled part
	core     int       // samples of the settled part
	creep    [bins]bin // its approach
	came     float64   // level before a step within the dwell
	left     float64   // and after it; both level where there is none
	noise    float64   // deviation by second differences
	min, max float64   // settled part
	changes  int       // settled part: samples that differ from the one before
	bend     float64   // how far it goes up from its middle to its ends
}

// A bin sums n readings of a dwell: their times since its beginning, their
// distance from its level; core of them are behind the level.
type bin struct{ n, t, off, core float64 }

// bins of half octaves, the first from firstBin on; what comes before is arrival.
const (
	bins     = 12
	firstBin = 0.03
)

func binOf(t float64) int {
	if t < firstBin {
		return -1
	}
	return min(bins-1, int(2*math.Log2(t/firstBin)))
}

// One in edgeShare of the blocks of a dwell is left out at either end: what the wheel
// takes to come to rest and to leave. Tuned on all hands: a sixth or a seventh do.
const edgeShare = 6

// settled states a dwell: its level is a mean over its settled part. Its ends
// are left out, and what lies further from its middle than a count, 3.5 deviations of
// the noise or a fiftieth of the swing. A hundredth more than a count lies off the fractions
// at which the means of a few readings lie, else the last bit of one decides.
func (r *segmenter) settled(at dwellSpan) (dwell, bool) {
	a, z := r.span(at)
	if a == z {
		return dwell{}, false
	}
	p := blocks(r.kept[a:z])
	first, last := p.edges()
	var w, rest block
	for i := range p {
		w.merge(&p[i])
		if i >= first && i < last {
			rest.merge(&p[i])
		}
	}
	noise := math.Sqrt(rest.rough / 6 / float64(max(rest.n, 1)))
	tol := max(flicker/2*r.count(), 3*noise, stiffest*r.swing)
	d := dwell{from: w.from, to: w.to, n: w.n, bend: p.bend(), noise: noise}
	c := p.median(first, last)
	var core block
	for i := first; i < last; i++ {
		if math.Abs(p[i].mean()-c) <= tol {
			core.merge(&p[i])
		}
	}
	if core.n == 0 { // as many above the median as below, none near it
		for i := first; i < last; i++ {
			core.merge(&p[i])
		}
	}
	d.level = core.mean()
	d.core = core.n
	d.sumsq = math.Max(0, core.sumsq-core.sum*core.sum/float64(core.n))
	d.min, d.max, d.changes = core.min, core.max, core.changes
	d.came, d.left = p.parts(first, last, d.level, tol)
	for i := range p {
		b := &p[i]
		n, off := float64(b.n), b.sum-d.level*float64(b.n)
		at := (b.from+b.to)/2 - w.from
		if k := binOf(at); k >= 0 && i < last {
			d.creep[k].n += n
			d.creep[k].t += n * at
			d.creep[k].off += off
			if i >= first && math.Abs(b.mean()-c) <= tol {
				d.creep[k].core += n
			}
		}
	}
	return d, true
}

// blocks are those of a dwell.
type blocks []block

// bend is how far a parabola through the blocks goes up from its middle to its ends,
// by least squares.
func (p blocks) bend() float64 {
	from, to := p[0].from, p[len(p)-1].to
	var n, u, x, uu, ux float64
	for i := range p {
		at := (p[i].from + p[i].to - from - to) / (to - from)
		y := p[i].mean() - p[0].mean()
		n, u, x, uu, ux = n+1, u+at*at, x+y, uu+at*at*at*at, ux+at*at*y
	}
	if bend := (ux - u*x/n) / (uu - u*u/n); bend-bend == 0 {
		return bend
	}
	return 0
}

// parts returns the means before and after the greatest step within the bins, or
// the level twice where it is no greater than tol.
func (p blocks) parts(first, last int, level, tol float64) (before, after float64) {
	var n, sum, all, total float64
	for i := first; i < last; i++ {
		all, total = all+float64(p[i].n), total+p[i].sum
	}
	before, after = level, level
	best := 0.0
	for i := first; i+1 < last; i++ {
		n, sum = n+float64(p[i].n), sum+p[i].sum
		a, b := sum/n, (total-sum)/(all-n)
		if gain := (a - b) * (a - b) * n * (all - n); gain > best && math.Abs(a-b) > tol {
			best, before, after = gain, a, b
		}
	}
	return before, after
}

// edges returns the blocks left when those are taken off both ends in which the
// wheel comes to rest and leaves.
func (p blocks) edges() (first, last int) {
	first = (len(p) + 2) / edgeShare
	return first, len(p) - first
}

func (p blocks) median(first, last int) float64 {
	var v [keptBlocks]float64
	n := 0
	for i := first; i < last; i++ {
		v[n] = p[i].mean()
		n++
	}
	return medianInPlace(v[:n])
}
