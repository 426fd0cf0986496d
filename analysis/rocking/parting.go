package rocking

import (
	"math"

	"crownlog/analysis"
)

func (r *segmenter) start(s analysis.Sample) {
	r.started, r.origin, r.n = true, s.X, 1
	r.t, r.first, r.clock, r.quickest = s.T, s.T, s.T, math.Inf(1)
	r.cur.add(s.T, 0, 0, 0, false)
	r.still.start(s.T, 0)
	r.filed.from = math.Inf(-1)
	r.path.from, r.path.to = math.Inf(-1), math.Inf(-1)
	r.starts[0], r.begun = start{past: r.path}, 1
	r.recent[0].since, r.recent[1].since = s.T, s.T
}

// tick follows the time between readings and reports a gap. The interval is
// smoothed over some sixteen readings, so that packets of a radio do not shake it,
// and one silence counts for three intervals at most: it is no slower gauge.
func (r *segmenter) tick(dt float64) bool {
	if r.interval == 0 {
		r.interval = dt
		return false
	}
	gap := dt > gapFloor && dt > gapReadings*r.interval
	r.interval += (min(dt, 3*r.interval) - r.interval) / 16
	return gap
}

// widen returns the range of the newest seconds' readings.
func (r *segmenter) widen(b *block) float64 {
	const window = 2 // s
	e := &r.recent
	if b.to-e[1].since > window {
		e[0] = e[1]
		e[1] = extent{b.from, b.min, b.max}
	}
	e[1].lo, e[1].hi = min(e[1].lo, b.min), max(e[1].hi, b.max)
	return max(e[0].hi, e[1].hi) - min(e[0].lo, e[1].lo)
}

// push takes the next block.
func (r *segmenter) push(b *block) {
	r.lo, r.hi = min(r.lo, b.min), max(r.hi, b.max)
	wide := r.widen(b)
	if tp, ok := r.zig.add(b, max(turnShare*r.known(), 1.5*flicker*r.count())); ok {
		r.turns.push(tp)
	}
	r.keep(b)
	if b.gap {
		r.starts[0], r.begun = start{past: r.path}, 1
	}
	r.extend(b, wide)
}

// extend finds the best parting of all blocks up to b.
func (r *segmenter) extend(b *block, wide float64) {
	small := wide
	if r.swing > 0 {
		small = min(wide, r.swing)
	} else {
		wide = max(wide, usualSwing)
	}
	q := r.count()
	least := max(rounded(q), stiffest*stiffest*small*small)
	rest := r.rest.of(2 * math.Pi * math.E * least)
	best, at := r.motion.of(max(wide, q)), -1 // motion
	var costs [maxStarts + 1]float64
	y := b.mean()
	for i := range r.begun {
		c := &r.starts[i]
		c.add(b, y)
		costs[i] = c.before + c.n/2*rest // no less than that
		if v := c.variance(); v > least && !(costs[i] > best) {
			costs[i] = c.before + c.n/2*math.Log(2*math.Pi*math.E*v)
		}
		if costs[i]+dwellOdds < best {
			best, at = costs[i]+dwellOdds, i
		}
	}
	path := r.path
	if at >= 0 {
		c := &r.starts[at]
		path = c.past
		if b.to-c.from+r.interval >= minDwell && (c.readings >= minDwellN || c.readings == 2 && r.interval >= slowGauge) {
			level := c.x + c.sum/c.n
			if c.from-path.to > minDwell || math.Abs(level-path.level) > max(nearShare*small, flicker*q) { // else one dwell that creeps
				path.from = c.from
			}
			path.to, path.level = b.to, level
			if path.from != r.path.from && c.past.from > r.filed.from && path.from != c.past.from {
				r.file(c.past)
			}
		}
	}
	r.path = path
	kept := 0
	full := r.begun == maxStarts
	for i := range r.begun {
		switch {
		case costs[i] > best && i != at:
			continue
		case full && i != at:
			full = false
			continue
		case kept != i:
			r.starts[kept] = r.starts[i]
		}
		r.starts[kept].before -= best
		kept++
	}
	r.starts[kept] = start{past: path}
	r.begun = kept + 1
}

// keep adds a block to those that a dwell may still need, and makes room.
func (r *segmenter) keep(b *block) {
	r.kept[r.used] = *b
	r.used++
	if r.used < keptBlocks {
		return
	}
	// The newest blocks may belong to the next dwell, and the first ones of a dwell
	// show its approach: what lies between is merged two by two, motion forgotten.
	const fine = 1.6 // s
	tail := keptBlocks - maxStarts - 1
	if r.starts[0].n > 0 && r.starts[0].from < r.path.from {
		tail = keptBlocks
	}
	n := 0
	for i := 0; i < r.used; i++ {
		c := r.kept[i]
		switch {
		case i >= tail || c.from < r.path.from || c.to < r.path.from+fine:
		case c.from > r.path.to:
			continue
		case i+1 < tail && r.kept[i+1].to <= r.path.to:
			c.merge(&r.kept[i+1])
			i++
		}
		r.kept[n] = c
		n++
	}
	if n == keptBlocks {
		n = copy(r.kept[:], r.kept[keptBlocks/2:])
	}
	r.used = n
}

// file puts the dwell on the list and forgets its blocks, but those that show how
// the wheel left it.
func (r *segmenter) file(w dwellSpan) {
	d, ok := r.settled(w)
	r.filed = w
	if !ok {
		return
	}
	r.dwells.push(d)
	r.rough += d.rough
	r.roughN += d.roughN
	_, last := r.span(w)
	r.used = copy(r.kept[:], r.kept[last:r.used])
	r.learnSwing()
}

// open returns the dwell that is not filed yet.
func (r *segmenter) open() (dwell, bool) {
	if r.path.from <= r.filed.from {
		return dwell{}, false
	}
	return r.settled(r.path)
}

// learnSwing takes the median distance of the newest dwells that are no nearer than
// three tenths of it; nearer, it is one stop twice or a partial rock.
func (r *segmenter) learnSwing() {
	v := make([]float64, 0, 8)
	dwells := r.dwells.list()
	for i := len(dwells) - 1; i > 0 && len(v) < cap(v); i-- {
		if d := math.Abs(dwells[i].level - dwells[i-1].level); d > turnShare*r.swing && d > r.near() {
			v = append(v, d)
		}
	}
	if len(v) > 0 {
		r.swing = medianInPlace(v)
	}
}
