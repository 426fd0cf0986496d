package analysis

import "math"

const inch = 25.4 // mm, exactly

// leastShare is the least share of a half cycle at rest that makes stops of
// turning points; rests of 0.3 s between motions of 0.5 s have 0.375.
const leastShare = 0.3

// unitFlipped reports whether the scale changed by 25.4 during the trace: the
// stops before and after some moment are the same but for that factor, or
// small turns of that size were seen by watchFlip.
func (r *Rocking) unitFlipped() bool {
	if r.flip.sure {
		return true
	}
	nodes := r.scratch.nodes
	if !r.scratch.twoScales() {
		return false
	}
	for k := 2; k+2 <= len(nodes); k++ {
		before := math.Abs(nodes[k-1].level - nodes[k-2].level)
		across := math.Abs(nodes[k].level - nodes[k-1].level)
		after := math.Abs(nodes[k+1].level - nodes[k].level)
		if across < inch/14*before && across < inch/14*after {
			continue // nothing happened here
		}
		for g := k; g <= k+3 && g+2 <= len(nodes); g++ { // the flip itself may leave odd nodes
			if r.scaled(nodes[:k], nodes[g:]) {
				return true
			}
		}
		g := k
		for g+2 < len(nodes) && !nodes[g].rested {
			g++
		}
		if r.scaled(nodes[:k], nodes[g:]) {
			return true
		}
	}
	return false
}

// twoScales reports whether some of the swings are far smaller than the whole
// range, without which nothing was scaled.
func (s *judgeScratch) twoScales() bool {
	v := s.values[:0]
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range s.nodes {
		x := s.nodes[i].level
		lo, hi = math.Min(lo, x), math.Max(hi, x)
		if i > 0 {
			v = append(v, math.Abs(x-s.nodes[i-1].level))
		}
	}
	if len(v) < 3 {
		return false
	}
	sortFloats(v)
	return v[len(v)/8] < (hi-lo)/10 && hi-lo > 0
}

// scaled reports whether the nodes before a moment and those after it have the
// same high and low levels but for a factor of 25.4.
func (r *Rocking) scaled(earlier, later []stop) bool {
	ha, la, na := r.scratch.levels(earlier)
	hb, lb, nb := r.scratch.levels(later)
	if !apart(earlier, later) && (!weaves(earlier, (ha+la)/2) || !weaves(later, (hb+lb)/2)) {
		return false
	}
	ratio := (hb - lb) / (ha - la)
	if ratio < 1 {
		ha, la, hb, lb, ratio = hb, lb, ha, la, 1/ratio
	}
	allow := 0.02
	if min(na, nb) >= 2 {
		allow = 0.2
	}
	wide := hb - lb
	return ratio > 0.72*inch && ratio < 1.35*inch &&
		math.Abs(hb+r.origin-inch*(ha+r.origin)) < allow*wide &&
		math.Abs(lb+r.origin-inch*(la+r.origin)) < allow*wide
}

// apart reports whether no later node is near the earlier ones.
func apart(earlier, later []stop) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range earlier {
		lo, hi = math.Min(lo, earlier[i].level), math.Max(hi, earlier[i].level)
	}
	for i := range later {
		if x := later[i].level; x > lo-3*(hi-lo) && x < hi+3*(hi-lo) {
			return false
		}
	}
	return true
}

// weaves reports whether the nodes go to and fro past the middle, most of the
// rests among them if there are any, which a plunger lifted once does not.
func weaves(nodes []stop, middle float64) bool {
	var turns, rested, n int
	all, last := 0, -1
	for i := range nodes {
		if i > 0 && (nodes[i].level > middle) != (nodes[i-1].level > middle) {
			all++
		}
		if !nodes[i].rested {
			continue
		}
		n++
		if last >= 0 && (nodes[i].level > middle) != (nodes[last].level > middle) {
			turns++
		}
		last = i
	}
	rested = n - 1
	if rested >= 1 {
		return turns >= 1 && 2*turns >= rested
	}
	return all >= 2
}

// levels returns the median of the upper and of the lower levels of the nodes,
// of the rests alone where there are enough, and how many there are of the
// fewer.
func (s *judgeScratch) levels(nodes []stop) (high, low float64, n int) {
	rested := 0
	for i := range nodes {
		if nodes[i].rested {
			rested++
		}
	}
	use := func(i int) bool { return rested < 3 || nodes[i].rested }
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range nodes {
		if use(i) {
			lo, hi = math.Min(lo, nodes[i].level), math.Max(hi, nodes[i].level)
		}
	}
	middle := (lo + hi) / 2
	side := func(up bool) (float64, int) {
		v := s.values[:0]
		for i := range nodes {
			if x := nodes[i].level; use(i) && x > middle == up {
				v = append(v, x)
			}
		}
		return medianInPlace(v), len(v)
	}
	high, nh := side(true)
	low, nl := side(false)
	return high, low, min(nh, nl)
}

// A flipWatch looks for a trace that shrank by 25.4, whose swings have become
// smaller than a rest is wide.
type flipWatch struct {
	zig  zigzag
	last turn
	seen bool
	good int
	sure bool
}

// watchFlip follows the small turns of the motion.
func (r *Rocking) watchFlip(b *block) {
	f := &r.flip
	small := r.swing / inch
	p, ok := f.zig.add(b, 0.45*small)
	if !ok {
		return
	}
	defer func() { f.last, f.seen = p, true }()
	if !f.seen || r.half <= 0 {
		return
	}
	size, wait := math.Abs(p.x-f.last.x), p.sure-f.last.sure
	middle := (p.x+f.last.x)/2 + r.origin
	was := r.middle + r.origin
	if size > 0.7*small && size < 1.3*small && wait > 0.35*r.half && math.Abs(middle*inch-was) < 0.6*r.swing {
		f.good++
	} else {
		f.good = 0
	}
	w := &r.rest.whole
	long := r.resting && w.to-w.from > 2*r.half
	if f.good >= 3 || f.good == 2 && long {
		f.sure = true
	}
}

// lookForFloat looks for a third plateau: rests passed on the way at one
// level again and again, or a stop found now at one level and now at another.
func (r *Rocking) lookForFloat(j *judgement) {
	if j.refuse || j.swing == 0 {
		return
	}
	if r.passedOften(j) || r.twoLevels(&r.scratch.high, j) || r.twoLevels(&r.scratch.low, j) {
		j.faults.add(EndFloat)
		j.refuse = true
	}
}

func (r *Rocking) passedOften(j *judgement) bool {
	s := &r.scratch
	v := s.values[:0]
	near := math.Max(0.08*j.swing, 1.2*r.count())
	for _, c := range s.passed {
		if c.level < j.high.level-near && c.level > j.low.level+near {
			v = append(v, c.level)
		}
	}
	if len(v) < 3 {
		return false
	}
	m := medianInPlace(v)
	alike := 0
	for _, x := range v {
		if math.Abs(x-m) < near {
			alike++
		}
	}
	return alike >= 3 && 10*alike >= 6*len(v) && 4*alike >= len(s.turns)
}

// twoLevels reports whether the stop was found at two levels in turn, each
// repeated closely.
func (r *Rocking) twoLevels(side *series, j *judgement) bool {
	n := len(side.y)
	if n < 5 {
		return false
	}
	v := append(r.scratch.values[:0], side.y...)
	sortFloats(v)
	cut, gap := 0, 0.0
	for i := 1; i < n; i++ {
		if d := v[i] - v[i-1]; d > gap {
			cut, gap = i, d
		}
	}
	tight := math.Max(0.04*j.swing, 0.6*r.count())
	if j.quiet {
		tight = math.Max(tight, 1.1*r.count())
	}
	least := max(2, (3*n+9)/10)
	if cut < least || n-cut < least || gap < math.Max(0.08*j.swing, 1.6*r.count()) || gap > 1.5*j.swing ||
		v[cut-1]-v[0] > tight || v[n-1]-v[cut] > tight {
		return false
	}
	level, changes := (v[cut]+v[cut-1])/2, 0
	for i := 1; i < n; i++ {
		if (side.y[i] > level) != (side.y[i-1] > level) {
			changes++
		}
	}
	return changes >= 2
}

// lookForClipping looks for a stop that is perfectly flat and identical every
// time while the other one shows the noise of the gauge: the plunger at the
// end of its travel. It speaks only when a sound stop would hardly ever look
// like that, even one in the middle of a count.
func (r *Rocking) lookForClipping(j *judgement) {
	s := &r.scratch
	if len(s.high.y) < 3 || len(s.low.y) < 3 {
		return
	}
	for _, pair := range [][2]*series{{&s.high, &s.low}, {&s.low, &s.high}} {
		flat, other := pair[0], pair[1]
		sigma := r.sideNoise(other)
		n, same := r.identical(flat, sigma > r.count()/2)
		if !same || n < 9 {
			continue
		}
		if sigma == 0 {
			sigma = r.edgeNoise(other)
		}
		j.flat = j.flat || r.shows(other)
		if sigma == 0 {
			continue
		}
		p := math.Erf(r.count() / (2 * math.Sqrt2 * sigma)) // one reading of a sound stop on the modal count
		if float64(n)*math.Log(p) < math.Log(1e-4) {
			j.faults.add(EndOfTravel)
			j.refuse = true
		}
	}
}

// shows reports whether readings within most rests at the stop differ.
func (r *Rocking) shows(side *series) bool {
	moving := 0
	for _, i := range side.at {
		if c := &r.scratch.turns[i]; c.max > c.min {
			moving++
		}
	}
	return 2*moving > len(side.at)
}

// identical returns the number of settled readings at the stop and whether
// they were the same, nearly so but for a few of the motion's edge.
func (r *Rocking) identical(side *series, nearly bool) (n int, same bool) {
	lo, hi, changes := math.Inf(1), math.Inf(-1), 0
	for _, i := range side.at {
		c := &r.scratch.turns[i]
		if c.aside {
			continue
		}
		lo, hi = math.Min(lo, c.min), math.Max(hi, c.max)
		n += c.core
		changes += c.changes
	}
	if hi-lo <= 1e-9*math.Abs(hi) {
		return n, n > 0
	}
	return n, nearly && hi-lo < 1.01*r.count() && 33*changes < n
}

// sideNoise returns the deviation of the readings within the rests at a stop.
func (r *Rocking) sideNoise(side *series) float64 {
	s := &r.scratch
	sum, n, moving := 0.0, 0, 0
	for _, i := range side.at {
		c := &s.turns[i]
		if c.aside {
			continue
		}
		sum += c.sumsq
		n += c.core - 1
		if c.max-c.min > 1.5*r.count() { // two counts prove nothing: a still reading on the edge shows them
			moving++
		}
	}
	if n < 3 || 3*moving < len(side.at) {
		return 0
	}
	return undither(sum/float64(n), r.count())
}

// edgeNoise is sideNoise for a stop whose readings show two counts only. Noise
// moves them to and fro at random in every rest alike; a still reading on the
// edge between the counts hardly ever does that.
func (r *Rocking) edgeNoise(side *series) float64 {
	s := &r.scratch
	q := r.count()
	sum, n, rests, alike := 0.0, 0.0, 0, 0
	for _, i := range side.at {
		c := &s.turns[i]
		if c.aside || c.core < 5 {
			continue
		}
		rests++
		v := c.sumsq / float64(c.core)
		sum += c.sumsq
		n += float64(c.core)
		// white noise changes the count 2·v/q² of the time
		if v > 0.12*q*q && float64(c.changes) > 1.3*v/(q*q)*float64(c.core) {
			alike++
		}
	}
	if q == 0 || rests < 5 || alike < rests {
		return 0
	}
	return undither(sum/n, q)
}

// lookForStillness looks for a value that stopped changing: far longer than
// the noise elsewhere allows, or, of a gauge without noise, far longer than
// the wheel rested otherwise.
func (r *Rocking) lookForStillness(j *judgement, open *rest) {
	if j.half == 0 || j.faults.has(EndOfTravel) {
		return
	}
	if l := r.still.jumped; l.length() >= 0.5 && l.n >= 6 && !j.faults.has(ZeroShift) && !j.faults.has(OffGear) {
		if o := r.others(l, open); o.rests >= 2 && l.length() > 1.5*o.usual {
			j.faults.add(Frozen)
			return
		}
	}
	l := r.still.longest
	if l.length() < 0.6 || l.n < 6 {
		return
	}
	o := r.others(l, open)
	if o.rests < 2 {
		return
	}
	length, last := l.length(), r.t-l.to < 2*r.interval
	switch {
	case o.share > 0.1 && length > 1.2*o.usual && float64(l.n)*math.Log1p(-math.Min(o.share, 0.99)) < math.Log(1e-5),
		!last && length > math.Max(2, 2.5*math.Max(o.longest, j.half)) && l.from > r.first+o.usual,
		length > math.Max(3, 4*math.Max(o.usual, j.half)) && l.from > r.first+o.usual:
		j.faults.add(Frozen)
	}
}

// otherRests describes the rests besides a run of readings all the same.
type otherRests struct {
	rests          int
	usual, longest float64 // s, median and most
	share          float64 // least share of readings that differ from the one before, at the level of the run where it is known
}

func (r *Rocking) others(l stillRun, open *rest) otherRests {
	var o otherRests
	lengths := r.scratch.values[:0]
	near := math.Max(r.tol, 0.1*r.swing)
	var n, nearby int
	every, close := 1.0, 1.0 // least share of changes
	each := func(d *rest) {
		if d.to > l.from && d.from < l.to {
			return
		}
		lengths = append(lengths, d.to-d.from)
		o.longest = math.Max(o.longest, d.to-d.from)
		if d.core < 5 {
			return
		}
		share := float64(d.changes) / float64(d.core)
		n++
		every = math.Min(every, share)
		if math.Abs(d.level-l.x) < near {
			nearby++
			close = math.Min(close, share)
		}
	}
	for i := range r.rests.len() {
		each(r.rests.at(i))
	}
	if open != nil {
		each(open)
	}
	o.rests, o.usual = len(lengths), medianInPlace(lengths)
	switch {
	case nearby >= 2:
		o.share = close
	case n >= 2:
		o.share = every
	}
	return o
}

// lookForGaps looks for silences in which the wheel may have moved.
func (r *Rocking) lookForGaps(j *judgement) {
	s := &r.scratch
	if r.back > 3 && 20*r.back > r.n { // the time stamps tell nothing
		j.faults.add(Gaps)
		j.refuse = true
	}
	if len(s.turns) < 2 {
		return
	}
	first, last := s.turns[0].from, s.turns[len(s.turns)-1].to
	for i := range r.gaps.n {
		g := r.gaps.at[i]
		if g.from < first || g.to > last {
			continue
		}
		if g.to-g.from > math.Max(0.6*j.half, 2*gapFloor) || !r.insideRest(g.from, g.to) {
			j.faults.add(Gaps)
		}
	}
}

// insideRest reports whether the wheel was at the same stop before and after.
func (r *Rocking) insideRest(from, to float64) bool {
	s := &r.scratch
	for i := range s.turns {
		if c := &s.turns[i]; c.rested && c.from <= from && c.to >= to {
			return true
		}
	}
	return false
}

// lookForDwell looks for a wheel that turned round without resting.
func (r *Rocking) lookForDwell(j *judgement) {
	s := &r.scratch
	bare := 0
	for i := range s.turns {
		if !s.turns[i].rested {
			bare++
		}
	}
	if bare >= 3 && 10*bare >= 4*len(s.turns) && j.rocks < r.minRocks() {
		j.faults.add(NoDwell)
		j.refuse = true
		return
	}
	if share := s.restShare(r.interval, r.count()); share < leastShare {
		j.faults.add(NoDwell)
		j.refuse = true
	}
}
