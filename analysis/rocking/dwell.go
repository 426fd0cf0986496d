package rocking

import "math"

// hold continues the dwell with b, or ends it.
func (r *segmenter) hold(b block) {
	w := &r.open.whole
	inside := r.oneDwell(math.Min(w.min, b.min), math.Max(w.max, b.max), w.rough+b.rough, w.n+b.n)
	switch {
	case inside && !b.gap:
		r.oddHeld = false
		r.open.add(b)
	case !inside && !b.gap && !r.oddHeld && r.interval < spikeGauge:
		// One block out of line may be a wild reading: the next one tells. A slow
		// gauge moves a whole swing between two blocks, so there it is the end.
		r.oddHeld = true
	default:
		r.free = r.blocks - 1
		if r.oddHeld {
			r.free--
		}
		r.endDwell()
		r.seek()
	}
}

// block returns the newest block but k.
func (r *segmenter) block(k int) *block { return &r.recent[(r.blocks-1-k)%len(r.recent)] }

// seek looks for a dwell among the newest blocks since the last one: the longest
// run that may be one. A gap starts afresh: what moved meanwhile is not known.
func (r *segmenter) seek() {
	b := r.block(0)
	r.moved[0], r.moved[1] = math.Min(r.moved[0], b.min), math.Max(r.moved[1], b.max)
	if b.gap {
		r.free = r.blocks - 1
	}
	// Too wide for a still dwell, but of a noisy gauge a few readings do not show yet
	// how wide its noise is.
	room := math.Max(r.tol, r.roomy())
	lo, hi := b.min, b.max
	n, long, readings := 0, 0, 0
	var rough, older, oldest float64 // the oldest two hold the motion or jump before
	for k := 0; k < min(len(r.recent), r.blocks-r.free); k++ {
		b = r.block(k)
		if lo, hi = math.Min(lo, b.min), math.Max(hi, b.max); hi-lo > room {
			break
		}
		n += b.n
		rough, older, oldest = rough+older, oldest, b.rough
		if r.oneDwell(lo, hi, rough, n) {
			long, readings = k+1, n
		} else if n >= noisyN || r.interval >= slowGauge/2 {
			break
		}
	}
	// As long as a hand dwells at a stop, the interval after its last reading
	// included, with enough readings for a level.
	if long > 0 && r.block(0).to-r.block(long-1).from+r.interval >= minDwell && (readings >= minDwellN || readings == 2 && r.interval >= slowGauge) {
		r.beginDwell(long)
	}
}

// beginDwell takes the newest n blocks for a dwell.
func (r *segmenter) beginDwell(n int) {
	r.open.reset()
	r.open.slide = r.slid(n)
	for k := n - 1; k >= 0; k-- {
		b := *r.block(k)
		if k >= n-2 {
			b.rough = 0
		}
		r.open.add(b)
	}
	r.dwelling, r.found, r.oddHeld = true, false, false
}

// slideFrom is the share of the stroke left where its slide is timed from:
// outside of every dwell, inside of the hand's steady motion.
const slideFrom = 0.5

// slid returns how long before the newest n blocks slideFrom of the stroke was
// left, at least; 0 where there was no dwell before.
func (r *segmenter) slid(n int) float64 {
	if r.dwells.n == 0 {
		return 0
	}
	level := r.block(0).mean()
	stroke := level - r.dwells.list()[r.dwells.n-1].level
	stroke = math.Copysign(math.Max(math.Abs(stroke), r.swing), stroke)
	edge := level - slideFrom*stroke
	begin := r.block(n - 1)
	after := begin
	for k := n; k < min(len(r.recent), r.blocks); k++ {
		b := r.block(k)
		if (b.mean()-edge)*stroke < 0 {
			return begin.from - b.from - (after.from-b.from)*(edge-b.mean())/(after.mean()-b.mean())
		}
		after = b
	}
	return begin.from - after.from // at least
}

// endDwell files the dwell and learns the swing from it.
func (r *segmenter) endDwell() {
	r.dwells.push(r.settled())
	r.dwelling, r.oddHeld = false, false
	level := r.dwells.list()[r.dwells.n-1].level
	r.moved = [2]float64{level, level}
	r.learnSwing()
	r.retune()
}

// settled states the open dwell as it is now. What lies further from its middle
// than a count, 3.5 deviations of the noise or a fiftieth of the swing is arrival
// or departure of the wheel and no part of the level.
func (r *segmenter) settled() dwell {
	noise := r.noise.sigma()
	if w := &r.open.whole; w.n >= noisyN { // the other stop may be stiller than this one
		noise = math.Max(noise, math.Min(math.Sqrt(w.rough/6/float64(w.n)), 0.02*r.swing))
	}
	return r.open.settle(math.Max(math.Max(1.01*r.count(), 3.5*noise), 0.02*r.swing))
}

// learnSwing takes the median distance between the newest dwells that are
// further apart than a dwell is wide, and with it their time and middle.
func (r *segmenter) learnSwing() {
	var size, wait, middle [8]float64
	n := 0
	dwells := r.dwells.list()
	for i := len(dwells) - 1; i > 0 && n < len(size); i-- {
		a, b := &dwells[i], &dwells[i-1]
		d := math.Abs(a.level - b.level)
		// Nearer than that it is one stop twice, or a partial rock.
		if d > 1.5*r.tol || r.swing > 0 && d > 0.3*r.swing {
			size[n], middle[n] = d, (a.level+b.level)/2
			wait[n] = (a.from + a.to - b.from - b.to) / 2
			n++
		}
	}
	if n > 0 {
		r.swing, r.half, r.middle = medianInPlace(size[:n]), medianInPlace(wait[:n]), medianInPlace(middle[:n])
	}
}
