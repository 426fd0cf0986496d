package rocking

import (
	"math"
	"slices"

	"crownlog/analysis/internal/stat"
)

const profileBins = 32

// A profile is one dwell in constant memory: blocks in order,
// neighbours merged two by two whenever the room runs out.
type profile struct {
	bins  [profileBins]block
	used  int
	per   int // blocks in a full bin
	fill  int // blocks in the last bin
	whole block
	slide float64 // s, as in dwell
	quick slot    // as in dwell, about 0
}

func (p *profile) reset() { *p = profile{per: 1} }

func (p *profile) add(b block) {
	p.whole.merge(b)
	if at := (b.from+b.to)/2 - p.whole.from; at >= 0.5*slotEdges[0] && at < slotEdges[0] {
		p.quick.n, p.quick.sum = p.quick.n+float64(b.n), p.quick.sum+b.sum
	}
	if p.used > 0 && p.fill < p.per {
		p.bins[p.used-1].merge(b)
		p.fill++
		return
	}
	if p.used == profileBins {
		for i := 0; i < profileBins/2; i++ {
			p.bins[i] = p.bins[2*i]
			p.bins[i].merge(p.bins[2*i+1])
		}
		p.used, p.per = profileBins/2, p.per*2
	}
	p.bins[p.used] = b
	p.used++
	p.fill = 1
}

// A dwell is what is kept of a stretch in which the reading stayed within the
// tolerance. Values are relative to the first reading of the trace.
type dwell struct {
	from, to float64
	n        int
	level    float64     // trimmed mean of the settled part
	sumsq    float64     // about level, settled part
	core     int         // samples of the settled part
	creep    [slots]slot // its approach
	came     float64     // level before a step within the dwell
	left     float64     // and after it; both level where there is none
	slide    float64     // s from slideFrom of the stroke to its beginning; 0: unknown
	end      slot        // its last sixth
	quick    slot        // the second half of its arrival
	noise    float64     // deviation by second differences
	min, max float64     // settled part
	changes  int         // settled part: samples that differ from the one before
	span     float64     // range of the whole dwell
}

// settle takes the level of the dwell as a mean over its settled part: the
// first and last seventh are left out where there is enough of it, then what
// lies further than tol from the median bin.
func (p *profile) settle(tol float64) dwell {
	w := p.whole
	d := dwell{from: w.from, to: w.to, n: w.n, span: w.max - w.min}
	// A seventh at either end is what the wheel takes to come to rest and to leave;
	// of fewer than six bins none can be spared.
	first, last := 0, p.used
	if p.used >= 6 {
		first, last = p.edges(0.143 * (w.to - w.from))
	}
	c := p.median(first, last)
	var core block
	for i := first; i < last; i++ {
		if math.Abs(p.bins[i].mean()-c) <= tol {
			core.merge(p.bins[i])
		}
	}
	if core.n == 0 { // as many above the median as below, none near it
		for i := first; i < last; i++ {
			core.merge(p.bins[i])
		}
	}
	d.level = core.mean()
	d.core = core.n
	d.sumsq = math.Max(0, core.sumsq-core.sum*core.sum/float64(core.n))
	d.min, d.max, d.changes = core.min, core.max, core.changes
	d.noise = math.Sqrt(w.rough / 6 / float64(w.n))
	d.slide = p.slide
	d.quick = slot{n: p.quick.n, sum: p.quick.sum - p.quick.n*d.level}
	d.came, d.left = p.parts(first, last, d.level, tol)
	in := p.bins[0].mean() - c // where it came from, and goes back to
	for i := range last {
		b := &p.bins[i]
		n, off := float64(b.n), b.sum-d.level*float64(b.n)
		settled := i >= first && math.Abs(b.mean()-c) <= tol
		if settled && i >= last-(last-first+5)/6 {
			d.end.n += n
			d.end.sum += off
		}
		at := (b.from+b.to)/2 - w.from
		if k := slotOf(at); k >= 0 && (settled || 2*i < last || (b.mean()-c)*in <= 0) { // else it is leaving
			d.creep[k].n += n
			d.creep[k].t += n * at
			d.creep[k].sum += off
			if settled {
				d.creep[k].core += n
			}
		}
	}
	return d
}

// parts returns the means before and after the greatest step within the bins, or
// the level twice where it is no greater than tol.
func (p *profile) parts(first, last int, level, tol float64) (before, after float64) {
	var n, sum, all, total float64
	for i := first; i < last; i++ {
		all, total = all+float64(p.bins[i].n), total+p.bins[i].sum
	}
	before, after = level, level
	best := 0.0
	for i := first; i+1 < last; i++ {
		n, sum = n+float64(p.bins[i].n), sum+p.bins[i].sum
		a, b := sum/n, (total-sum)/(all-n)
		if gain := (a - b) * (a - b) * n * (all - n); gain > best && math.Abs(a-b) > tol {
			best, before, after = gain, a, b
		}
	}
	return before, after
}

// edges returns the bins left when cut seconds are taken off both ends, a quarter
// of the bins at most: those of a long dwell are coarse.
func (p *profile) edges(cut float64) (first, last int) {
	first, last = 0, p.used
	for first < p.used/4 && p.bins[first].from < p.whole.from+cut {
		first++
	}
	for last > p.used-p.used/4 && p.bins[last-1].to > p.whole.to-cut {
		last--
	}
	return first, last
}

func (p *profile) median(first, last int) float64 {
	var v [profileBins]float64
	n := 0
	for i := first; i < last; i++ {
		v[n] = p.bins[i].mean()
		n++
	}
	return medianInPlace(v[:n])
}

// medianInPlace returns the median of v and leaves v sorted; NaN if v is empty.
func medianInPlace(v []float64) float64 {
	slices.Sort(v)
	return stat.SortedQuantile(v, 0.5)
}
