package rocking

import (
	"math"
	"slices"
)

// A dwell is what is kept of one. Values are relative to the first reading of the trace.
type dwell struct {
	from, to   float64
	n          int
	level      float64    // trimmed mean of the settled part
	sumsq      float64    // about level, settled part
	core       int        // samples of the settled part
	creep      [bins]bin  // its approach
	came, left [2]float64 // where it may have begun and ended, the base being nudged meanwhile
	noise      float64    // deviation by first differences
	min, max   float64    // settled part
	changes    int        // settled part: samples that differ from the one before
	bend       float64    // how far it goes up from its middle to its ends
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

// bins of half octaves, the first from firstBin in s on, the last from 1.4 s, by when the
// slowest approach is over; what comes before is arrival.
const (
	bins     = 12
	firstBin = 0.03
)

// binOf returns the bin of a time in s since the beginning of a dwell; -1: arrival.
func binOf(t float64) int {
	return int(min(bins-1, max(-1, math.Floor(2*math.Log2(t/firstBin)))))
}

// One in edgeShare of the blocks of a dwell is left out at either end: what the wheel
// takes to come to rest and to leave. Tuned on all hands: a sixth or a seventh do.
const edgeShare = 6

// settled states a dwell: its level is a mean over its settled part. Its ends are left
// out, and what lies further from its middle than a count, three deviations of the
// noise or the least deviation of a dwell.
func (r *segmenter) settled(w dwellSpan) (dwell, bool) {
	p := r.span(w)
	if len(p) == 0 {
		return dwell{}, false
	}
	first := (len(p) + 2) / edgeShare
	last := len(p) - first
	mid := p[first:last]
	whole, rest := p.sum(), mid.sum()
	noise := math.Sqrt(rest.rough / 2 / float64(rest.n))
	tol := max(flicker/2*r.count(), 3*noise, stiffest*r.swing)
	middle := mid.median()
	near := func(b *block) bool { return math.Abs(b.mean()-middle) <= tol }
	var core block
	for i := range mid {
		if near(&mid[i]) {
			core.merge(&mid[i])
		}
	}
	d := dwell{
		from: whole.from, to: whole.to, n: whole.n, level: core.mean(), core: core.n, noise: noise,
		sumsq: max(0, core.sumsq-core.sum*core.mean()), min: core.min, max: core.max, changes: core.changes, bend: p.bend(),
	}
	d.came, d.left = [2]float64{d.level, d.level}, [2]float64{d.level, d.level}
	third := (len(mid) + 2) / minDwellN // of the settled part, before and after a nudge
	if a, b := mid[:third].sum(), mid[len(mid)-third:].sum(); math.Abs(a.mean()-b.mean()) > tol {
		d.came[0], d.left[0] = a.mean(), b.mean()
	}
	for i := range p[:last] {
		b, at := &p[i], (p[i].from+p[i].to)/2-d.from
		k := binOf(at)
		if k < 0 {
			continue
		}
		c, n := &d.creep[k], float64(b.n)
		c.n += n
		c.t += n * at
		c.off += b.sum - d.level*n
		if i >= first && near(b) {
			c.core += n
		}
	}
	return d, true
}

// blocks are those of a dwell.
type blocks []block

func (p blocks) sum() (all block) {
	for i := range p {
		all.merge(&p[i])
	}
	return all
}

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

// median is the mean of one of the blocks, of an even number the higher one.
func (p blocks) median() float64 {
	var v [keptBlocks]float64
	for i := range p {
		v[i] = p[i].mean()
	}
	slices.Sort(v[:len(p)])
	return v[len(p)/2]
}
