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
		r.odd, r.oddHeld = b, true
	default:
		odd, held := r.odd, r.oddHeld
		r.endDwell()
		if held {
			r.seek(odd)
		}
		r.seek(b)
	}
}

// seek looks for a dwell among the newest blocks. A gap starts afresh: what moved
// meanwhile is not known.
func (r *segmenter) seek(b block) {
	r.moved[0], r.moved[1] = math.Min(r.moved[0], b.min), math.Max(r.moved[1], b.max)
	if b.gap {
		r.window = r.window[:0]
	}
	if len(r.window) < 2 {
		b.rough = 0 // that of the motion or jump before
	}
	if len(r.window) == 0 {
		r.wmin, r.wmax = b.min, b.max
	} else {
		r.wmin, r.wmax = math.Min(r.wmin, b.min), math.Max(r.wmax, b.max)
	}
	// A dwell is found long before so many blocks, or the wheel moves.
	if len(r.window) == cap(r.window) {
		copy(r.window, r.window[1:])
		r.window = r.window[:len(r.window)-1]
	}
	r.window = append(r.window, b)
	if r.wmax-r.wmin > r.tol {
		// Too wide for a still dwell, but of a noisy gauge a few readings do not
		// show yet how wide its noise is: wait for more of them.
		n, rough := r.tally()
		wait := n < noisyN && r.interval < slowGauge/2 && r.wmax-r.wmin <= r.roomy()
		if wait {
			return
		}
		if !r.oneDwell(r.wmin, r.wmax, rough, n) {
			r.shrink()
		}
	}
	if r.isDwell() {
		r.beginDwell()
	}
}

// tally returns the readings in the window and their roughness.
func (r *segmenter) tally() (n int, rough float64) {
	for i := range r.window {
		n += r.window[i].n
		rough += r.window[i].rough
	}
	return n, rough
}

// shrink drops the oldest blocks until the window is within the tolerance.
func (r *segmenter) shrink() {
	i := len(r.window) - 1
	lo, hi := r.window[i].min, r.window[i].max
	if hi-lo > r.tol {
		r.window = r.window[:0]
		return
	}
	for i > 0 {
		l, h := math.Min(lo, r.window[i-1].min), math.Max(hi, r.window[i-1].max)
		if h-l > r.tol {
			break
		}
		lo, hi = l, h
		i--
	}
	r.wmin, r.wmax = lo, hi
	n := copy(r.window, r.window[i:])
	r.window = r.window[:n]
	for k := 0; k < 2 && k < n; k++ {
		r.window[k].rough = 0
	}
}

// isDwell reports whether the window lasts as long as a hand dwells at a stop, the
// interval after its last reading included, with enough readings for a level.
func (r *segmenter) isDwell() bool {
	k := len(r.window)
	if k == 0 {
		return false
	}
	last := r.window[k-1].to
	if last-r.window[0].from+r.interval < minDwell {
		return false
	}
	n := 0
	for i := k - 1; i >= 0 && n < minDwellN; i-- {
		n += r.window[i].n
	}
	return n >= minDwellN || n == 2 && r.interval >= slowGauge
}

// beginDwell takes the window over into the open dwell.
func (r *segmenter) beginDwell() {
	r.open.reset()
	r.open.slide = r.slid()
	for i := range r.window {
		r.open.add(r.window[i])
		if i > 1 && r.interval > blockSpan { // one reading a block; the newest is added by Add
			r.dwellNoise.add(r.window[i-1].mean() - r.window[i-2].mean())
		}
	}
	r.window = r.window[:0]
	r.dwelling, r.found, r.oddHeld = true, false, false
}

// A moment is a time and where the plunger was.
type moment struct{ t, x float64 }

// follow keeps where the plunger was lately.
func (r *segmenter) follow(b *block) {
	if n := len(r.trail); r.trailed == 0 || b.from-r.trail[(r.trailed-1)%n].t >= trailStep {
		r.trail[r.trailed%n] = moment{b.from, b.mean()}
		r.trailed++
	}
}

// slid returns how long ago, when the window began, slideFrom of the stroke was
// left, at least; 0 where there was no dwell before.
func (r *segmenter) slid() float64 {
	if r.dwells.n == 0 {
		return 0
	}
	w := r.window
	level := w[len(w)-1].mean()
	stroke := level - r.dwells.list()[r.dwells.n-1].level
	stroke = math.Copysign(math.Max(math.Abs(stroke), r.swing), stroke)
	edge := level - slideFrom*stroke
	after := moment{w[0].from, w[0].mean()}
	for i := r.trailed - 1; i >= 0 && i >= r.trailed-len(r.trail); i-- {
		m := r.trail[i%len(r.trail)]
		if m.t >= after.t {
			continue
		}
		if (m.x-edge)*stroke < 0 {
			return w[0].from - m.t - (after.t-m.t)*(edge-m.x)/(after.x-m.x)
		}
		after = m
	}
	return w[0].from - after.t // at least
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
	noise := r.sigma()
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
