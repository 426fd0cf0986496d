package rocking

import "math"

// settled states a dwell: its level is a mean over its settled part. The first and
// last seventh are left out where there is enough of it, and what lies further from
// its middle than a count, 3.5 deviations of the noise or a fiftieth of the swing.
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
	tol := max(1.01*r.count(), 3.5*noise, 0.02*r.swing)
	if r.swing > 0 {
		tol = math.Min(tol, 0.3*r.swing)
	}
	d := dwell{from: w.from, to: w.to, n: w.n, bend: p.bend(), noise: noise, rough: rough, roughN: roughN}
	// A seventh at either end is what the wheel takes to come to rest and to leave;
	// of fewer than six bins none can be spared.
	first, last := 0, len(p)
	if len(p) >= 6 {
		first, last = p.edges(0.143 * (w.to - w.from))
	}
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
	d.slide = r.slid(a, d.level)
	d.came, d.left = p.parts(first, last, d.level, tol)
	in := p[0].mean() - c // where it came from, and goes back to
	for i := range p {
		b := &p[i]
		n, off := float64(b.n), b.sum-d.level*float64(b.n)
		settled := i >= first && i < last && math.Abs(b.mean()-c) <= tol
		if settled && (i == 0 || i == len(p)-1) {
			d.ends.core += n
			d.ends.off += off
		}
		at := (b.from+b.to)/2 - w.from
		if k := binOf(at); k >= 0 && i < last && (settled || 2*i < last || (b.mean()-c)*in <= 0) { // else it is leaving
			d.creep[k].n += n
			d.creep[k].t += n * at
			d.creep[k].off += off
			if settled {
				d.creep[k].core += n
			}
		}
	}
	return d, true
}

// slideFrom is the share of the stroke left where its slide is timed from:
// outside of every dwell, inside of the hand's steady motion.
const slideFrom = 0.5

// slid returns how long before the kept block n slideFrom of the stroke was
// left, at least; 0 where there was no dwell before.
func (r *segmenter) slid(n int, level float64) float64 {
	if r.dwells.n == 0 || n == 0 {
		return 0
	}
	stroke := level - r.dwells.list()[r.dwells.n-1].level
	stroke = math.Copysign(math.Max(math.Abs(stroke), r.swing), stroke)
	edge := level - slideFrom*stroke
	begin := &r.kept[n]
	after := begin
	for k := n - 1; k >= 0; k-- {
		b := &r.kept[k]
		if (b.mean()-edge)*stroke < 0 {
			return begin.from - b.from - (after.from-b.from)*(edge-b.mean())/(after.mean()-b.mean())
		}
		after = b
	}
	return begin.from - after.from // at least
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

// edges returns the bins left when cut seconds are taken off both ends, a quarter
// of the bins at most: those of a long dwell are coarse.
func (p blocks) edges(cut float64) (first, last int) {
	first, last = 0, len(p)
	for first < len(p)/4 && p[first].from < p[0].from+cut {
		first++
	}
	for last > len(p)-len(p)/4 && p[last-1].to > p[len(p)-1].to-cut {
		last--
	}
	return first, last
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
