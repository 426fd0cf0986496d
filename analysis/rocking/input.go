package rocking

import (
	"math"

	"crownlog/analysis"
)

// add takes the next sample and reports whether that parted the trace further. A sample
// that is not finite is counted and left out; a time before the last one is taken as
// no time having passed.
func (r *segmenter) add(s analysis.Sample) (parted bool) {
	x, t := s.X-r.origin, s.T+r.shift
	switch dt := t - r.clock; {
	case x-x != 0 || s.T-s.T != 0 || r.n > 0 && dt-dt != 0: // NaN or infinite
		r.bad++
		return false
	case r.n == 0:
		r.start(s)
		return false
	case dt < 0:
		r.back++
		r.shift -= dt
		t = r.clock
	}
	r.clock = t
	// A leap that no hand makes waits for the next reading to tell whether it was wild.
	switch leaps := math.Abs(x-r.x) > playMost*r.known(); {
	case leaps && !r.doubted:
		r.doubt, r.doubted = analysis.Sample{T: t, X: x}, true
		return false
	case leaps: // twice: neither was wild
		parted = r.take(r.doubt.T, r.doubt.X)
	}
	r.doubted = false
	return r.take(t, x) || parted
}

// take takes a reading that is sound. A gauge that sends only on change has meant the
// reading before until now, but what is longer than the blocks kept is a silence.
func (r *segmenter) take(t, x float64) (parted bool) {
	if dt := t - r.t; !r.repeats && dt > max(moment, minDwellN*r.quickest) && dt < 2*keptBlocks*blockSpan {
		for at := r.t + blockSpan; at < t-blockSpan/2; at += blockSpan {
			parted = r.reading(at, r.x) || parted
		}
	}
	r.repeats = r.repeats || x == r.x
	return r.reading(t, x) || parted
}

// reading puts a reading into the open block or begins another. A block of a slow
// gauge is one reading and is handed on at once.
func (r *segmenter) reading(t, x float64) (parted bool) {
	d, dt := x-r.x, t-r.t
	silent := dt > 0 && r.tick(dt)
	r.n++
	if d != 0 { // for time
		r.grid.Add(d)
	}
	r.still.add(d == 0, dt < moment && r.swing > 0 && math.Abs(d) > r.swing/2, t, x)
	switch gaps := r.gaps.list(); {
	case silent:
		r.gaps.push(gap{r.t, t})
		r.missing = dt / r.interval / 2
		r.still.start(t, x)
		d = 0
	case r.missing > 0 && t-gaps[len(gaps)-1].to < blockSpan:
		// Most of what was missing comes at once after all: the reader slept, and no
		// reading was lost.
		if r.missing--; r.missing <= 0 {
			r.gaps.pop()
		}
	}
	r.t, r.x = t, x
	if t-r.cur.from >= blockSpan {
		parted = r.flush()
	}
	r.cur.add(t, x, d)
	return r.interval > blockSpan && r.flush() || parted
}

// flush hands the open block on, if there is one.
func (r *segmenter) flush() bool {
	if r.cur.n == 0 {
		return false
	}
	r.push(&r.cur)
	r.cur.n = 0
	return true
}

// full reports whether the next dwell may take the place of the oldest.
func (r *segmenter) full() bool { return r.dwells.n == dwellCap }

// forget forgets the n oldest dwells and the turning points before the one after them.
func (r *segmenter) forget(n int) {
	r.dwells.drop(n)
	gone := 0
	for gone < r.turns.n && r.turns.all[gone].t < r.dwells.all[0].from {
		gone++
	}
	r.turns.drop(gone)
}
