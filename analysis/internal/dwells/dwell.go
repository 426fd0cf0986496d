package dwells

import (
	"math"
	"slices"
)

// A Dwell is what is kept of one. Values are relative to the first reading of the trace.
type Dwell struct {
	From, To   float64
	N          int
	Level      float64    // trimmed mean of the settled part
	Sumsq      float64    // about level, settled part
	Core       int        // samples of the settled part
	Creep      [Bins]Bin  // its approach
	Came, Left [2]float64 // where it may have begun and ended, the base being nudged meanwhile
	Noise      float64    // deviation by first differences
	Min, Max   float64    // settled part
	Changes    int        // settled part: samples that differ from the one before
	Bend       float64    // how far it goes up from its middle to its ends
}

// A Bin sums n readings of a dwell: their times since its beginning, their
// distance from its level; Core of them are behind the level.
type Bin struct{ N, T, Off, Core float64 }

// Add takes in another bin, of which outward is 1 or, where that is downward, -1.
func (b *Bin) Add(c Bin, outward float64) {
	b.N += c.N
	b.T += c.T
	b.Off += outward * c.Off
	b.Core += c.Core
}

// Bins of half octaves, the first from FirstBin in s on, the last from 1.4 s, by when the
// slowest approach is over; what comes before is arrival.
const (
	Bins     = 12
	FirstBin = 0.03
)

// binOf returns the bin of a time in s since the beginning of a dwell; -1: arrival.
func binOf(t float64) int {
	return int(min(Bins-1, max(-1, math.Floor(2*math.Log2(t/FirstBin)))))
}

// One in edgeShare of the blocks of a dwell is left out at either end: what the wheel
// takes to come to rest and to leave. Tuned on all hands: a sixth or a seventh do.
const edgeShare = 6

// settled states a dwell: its level is a mean over its settled part. Its ends are left
// out, and what lies further from its middle than a count, three deviations of the
// noise or the least deviation of a dwell.
func (r *Segmenter) settled(w dwellSpan) (Dwell, bool) {
	p := r.span(w)
	if len(p) == 0 {
		return Dwell{}, false
	}
	first := (len(p) + 2) / edgeShare
	last := len(p) - first
	mid := p[first:last]
	whole, rest := p.sum(), mid.sum()
	noise := math.Sqrt(rest.rough / 2 / float64(rest.n))
	tol := max(Flicker/2*r.Count(), 3*noise, stiffest*r.Swing)
	middle := mid.median()
	near := func(b *block) bool { return math.Abs(b.mean()-middle) <= tol }
	var core block
	for i := range mid {
		if near(&mid[i]) {
			core.merge(&mid[i])
		}
	}
	d := Dwell{
		From: whole.from, To: whole.to, N: whole.n, Level: core.mean(), Core: core.n, Noise: noise,
		Sumsq: max(0, core.sumsq-core.sum*core.mean()), Min: core.min, Max: core.max, Changes: core.changes, Bend: p.bend(),
	}
	d.Came, d.Left = [2]float64{d.Level, d.Level}, [2]float64{d.Level, d.Level}
	third := (len(mid) + 2) / MinDwellN // of the settled part, before and after a nudge
	if a, b := mid[:third].sum(), mid[len(mid)-third:].sum(); math.Abs(a.mean()-b.mean()) > tol {
		d.Came[0], d.Left[0] = a.mean(), b.mean()
	}
	for i := range p[:last] {
		b, at := &p[i], (p[i].from+p[i].to)/2-d.From
		k := binOf(at)
		if k < 0 {
			continue
		}
		var settled float64 // of the n
		n := float64(b.n)
		if i >= first && near(b) {
			settled = n
		}
		d.Creep[k].Add(Bin{N: n, T: n * at, Off: b.sum - d.Level*n, Core: settled}, 1)
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
