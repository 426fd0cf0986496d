package rocking

import "math"

// A dwell is what is kept of one. Values are relative to the first reading of the trace.
type dwell struct {
	from, to      float64
	n             int
	level         float64   // trimmed mean of the settled part
	sumsq         float64   // about level, settled part
	core          int       // samples of the settled part
	creep         [bins]bin // its approach
	came          float64   // level before a step within the dwell
	left          float64   // and after it; both level where there is none
	noise         float64   // deviation by second differences
	rough, roughN float64   // their squares, and of how many readings
	min, max      float64   // settled part
	changes       int       // settled part: samples that differ from the one before
	bend          float64   // how far it goes up from its middle to its ends
}

// A bin sums n readings of a dwell: their times since its beginning, their
// distance from its level; core of them are behind the level.
type bin struct{ n, t, off, core float64 }

// add takes in another bin, of which outward is 1 or, where that is downward, -1.
func (b *bin) add(c bin, outward float64) {
	b.n += c.n
	b.t += c.t
	b.off += outward * c.off
	b.core += c.core
}

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
	var w block
	for i := range p {
		w.merge(&p[i])
	}
	rough, roughN := 0.0, 0.0
	for i := 3; i+1 < len(p); i++ { // the others hold what is left of the motion
		rough += p[i].rough
		roughN += float64(p[i].n)
	}
	noise := math.Sqrt(rough / 6 / math.Max(roughN, 1))
	if roughN < noisyN {
		noise = math.Sqrt((rough + r.rough) / 6 / math.Max(roughN+r.roughN, 1))
	}
	tol := max(1.01*r.count(), 3.5*noise, stiffest*r.swing)
	if r.swing > 0 {
		tol = math.Min(tol, turnShare*r.swing)
	}
	d := dwell{from: w.from, to: w.to, n: w.n, bend: p.bend(), noise: noise, rough: rough, roughN: roughN}
	first, last := p.edges()
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

// bend is how far a parabola through the blocks goes up from its middle to its ends.
func (p blocks) bend() float64 {
	from, to := p[0].from, p[len(p)-1].to
	var u, square, up, x float64
	n := float64(len(p))
	at := func(b *block) float64 { return (b.from + b.to - from - to) / max(to-from, 1e-9) }
	for i := range p {
		u += at(&p[i]) * at(&p[i]) / n
		x += p[i].mean() / n
	}
	for i := range p {
		d := at(&p[i])*at(&p[i]) - u
		square += d * d
		up += d * (p[i].mean() - x)
	}
	if square == 0 {
		return 0
	}
	return up / square
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
