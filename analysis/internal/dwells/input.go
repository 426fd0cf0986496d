package dwells

import (
	"math"

	"crownlog/analysis"
)

// Add takes the next sample and reports whether that parted the trace further. A sample
// that is not finite is counted and left out; a time before the last one is taken as
// no time having passed.
func (r *Segmenter) Add(s analysis.Sample) (parted bool) {
	x, t := s.X-r.Origin, s.T+r.shift
	switch dt := t - r.clock; {
	case x-x != 0 || s.T-s.T != 0 || r.N > 0 && dt-dt != 0: // NaN or infinite
		r.Bad++
		return false
	case r.N == 0:
		r.start(s)
		return false
	case dt < 0:
		r.Back++
		r.shift -= dt
		t = r.clock
	}
	r.clock = t
	// A leap that no hand makes waits for the next reading to tell whether it was wild.
	switch leaps := math.Abs(x-r.x) > PlayMost*r.known(); {
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
func (r *Segmenter) take(t, x float64) (parted bool) {
	if dt := t - r.T; !r.repeats && dt > max(Moment, MinDwellN*r.quickest) && dt < 2*keptBlocks*blockSpan {
		for at := r.T + blockSpan; at < t-blockSpan/2; at += blockSpan {
			parted = r.reading(at, r.x) || parted
		}
	}
	r.repeats = r.repeats || x == r.x
	return r.reading(t, x) || parted
}

// reading puts a reading into the open block or begins another. A block of a slow
// gauge is one reading and is handed on at once.
func (r *Segmenter) reading(t, x float64) (parted bool) {
	d, dt := x-r.x, t-r.T
	silent := dt > 0 && r.tick(dt)
	r.N++
	if d != 0 { // for time
		r.Grid.Add(d)
	}
	r.Still.add(d == 0, dt < Moment && r.Swing > 0 && math.Abs(d) > r.Swing/2, t, x)
	switch gaps := r.Gaps.List(); {
	case silent:
		r.Gaps.Push(Gap{r.T, t})
		r.missing = dt / r.Interval / 2
		r.Still.start(t, x)
		d = 0
	case r.missing > 0 && t-gaps[len(gaps)-1].To < blockSpan:
		// Most of what was missing comes at once after all: the reader slept, and no
		// reading was lost.
		if r.missing--; r.missing <= 0 {
			r.Gaps.pop()
		}
	}
	r.T, r.x = t, x
	if t-r.cur.from >= blockSpan {
		parted = r.Flush()
	}
	r.cur.add(t, x, d)
	return r.Interval > blockSpan && r.Flush() || parted
}

// Flush hands the open block on, if there is one.
func (r *Segmenter) Flush() bool {
	if r.cur.n == 0 {
		return false
	}
	r.push(&r.cur)
	r.cur.n = 0
	return true
}

// Full reports whether the next dwell may take the place of the oldest.
func (r *Segmenter) Full() bool { return r.Dwells.n == Cap }

// Forget forgets the n oldest dwells and the turning points before the one after them.
func (r *Segmenter) Forget(n int) {
	r.Dwells.drop(n)
	gone := 0
	for gone < r.Turns.n && r.Turns.all[gone].T < r.Dwells.all[0].From {
		gone++
	}
	r.Turns.drop(gone)
}
