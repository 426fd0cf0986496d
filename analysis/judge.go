package analysis

import "math"

// A faultSet is a set of faults that the live path can hold without
// allocating.
type faultSet uint16

// faultOrder lists the faults, causes before consequences.
var faultOrder = [...]Fault{
	UnitFlip, ZeroShift, PinionSlip, BaseCreep, OffGear, EndFloat,
	EndOfTravel, Frozen, Gaps, NoDwell, TooFewRocks,
}

func faultBit(f Fault) faultSet {
	for i, g := range faultOrder {
		if f == g {
			return 1 << i
		}
	}
	return 0
}

func (s faultSet) has(f Fault) bool { return s&faultBit(f) != 0 }
func (s *faultSet) add(f Fault)     { *s |= faultBit(f) }

func (s faultSet) list() []Fault {
	var l []Fault
	for i, f := range faultOrder {
		if s&(1<<i) != 0 {
			l = append(l, f)
		}
	}
	return l
}

// A judgement is what the stops found so far amount to. Lengths are relative
// to the first reading where they are levels.
type judgement struct {
	faults    faultSet
	refuse    bool
	rocks     int
	swing     float64
	half      float64 // s, half a rock
	high, low course
	creep     float64    // per second, taken out of the levels
	middle    float64    // time at which the levels are stated
	dither    float64    // standard deviation of the readings about their stop
	dithers   [2]float64 // the same of the high and the low stop, where they can be told apart
	within    float64    // deviation of the readings within a rest
	blur      float64    // what the noise leaves of doubt in the level of one rest
	quiet     bool       // most rests show no noise
	still     bool       // too little dither for averaging to see past a count
	partial   int        // stops not reached
	odd       int        // stops left out because they differ
	first     bool       // the first rock was left out
	flat      bool       // one stop shows no noise, the other does
	extremes  [2]float64
	scatter   float64 // robust standard deviation of a stop
}

// judge weighs the stops found so far. open, if not nil, is the rest going on.
func (r *Rocking) judge(open *rest) judgement {
	r.findStops(open)
	s := &r.scratch
	j := judgement{swing: s.typicalSwing(), half: s.halfCycle()}
	s.split()
	j.extremes = s.extremes()
	if len(s.turns) >= 2 && len(s.high.y)+len(s.low.y) >= 2 {
		r.measureDither(&j)
		r.chooseCourse(&j)
		r.setAside(&j)
	}
	j.rocks = s.sound()
	if r.unitFlipped() {
		j.faults, j.refuse = faultBit(UnitFlip), true
		return j
	}
	r.lookForFloat(&j)
	r.lookForClipping(&j)
	r.lookForStillness(&j, open)
	r.lookForGaps(&j)
	r.lookForDwell(&j)
	if j.rocks < r.minRocks() {
		j.refuse = true
		if j.faults == 0 || j.faults&^(faultBit(Frozen)|faultBit(Gaps)|faultBit(OffGear)) == 0 {
			j.faults.add(TooFewRocks)
		}
	}
	return j
}

func (r *Rocking) minRocks() int {
	if r.opt.MinRocks > 0 {
		return r.opt.MinRocks
	}
	return 3
}

// split fills the series of both stops from the rested turns.
func (s *judgeScratch) split() {
	s.high.reset()
	s.low.reset()
	for i := range s.turns {
		c := &s.turns[i]
		if !c.rested {
			continue
		}
		if c.high {
			s.high.add(c.t, c.level, i)
		} else {
			s.low.add(c.t, c.level, i)
		}
	}
}

func (s *judgeScratch) extremes() [2]float64 {
	e := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, c := range s.turns {
		e[0], e[1] = math.Min(e[0], c.level), math.Max(e[1], c.level)
	}
	return e
}

// sound returns the number of rocks whose stops are both in use.
func (s *judgeScratch) sound() int {
	high, low := 0, 0
	for i := range s.turns {
		if c := &s.turns[i]; c.rested && !c.aside {
			if c.high {
				high++
			} else {
				low++
			}
		}
	}
	return min(high, low)
}

// measureDither estimates how far the readings at a stop spread, from all of
// them, so that both the noise and the small differences between rocks count:
// either moves the digits. The quantised variance is turned back into that of
// the signal by the mean over all places between two digits.
func (r *Rocking) measureDither(j *judgement) {
	s := &r.scratch
	q := r.count()
	var v [2]float64
	sides := 0
	for _, side := range []*series{&s.high, &s.low} {
		if len(side.y) == 0 {
			continue
		}
		c := side.steady(s.values).level
		sum, n := 0.0, 0
		for _, i := range side.at {
			d := &s.turns[i]
			e := d.level - c
			if math.Abs(e) > math.Max(1.6*q, 0.04*j.swing) {
				e = 0
			}
			sum += d.sumsq + e*e*float64(d.core)
			n += d.core
		}
		if n > 1 {
			v[sides] = sum / float64(n-1)
			sides++
		}
	}
	if sides == 0 {
		return
	}
	within, cores := s.values[:0], 0
	for i := range s.turns {
		if c := &s.turns[i]; c.rested && c.core > 1 {
			within = append(within, c.sumsq/float64(c.core-1))
			cores += c.core
		}
	}
	if n := len(within); n > 0 {
		j.within = undither(medianInPlace(within), q)
		j.blur = j.within / math.Sqrt(float64(cores)/float64(n))
	}
	j.quiet = j.within < q/5
	mean := v[0]
	if sides == 2 {
		mean = (v[0] + v[1]) / 2
	}
	j.dither = undither(mean, q)
	j.still = j.dither < q/5
	j.dithers = [2]float64{j.dither, j.dither}
	if r.sideNoise(&s.high) == 0 && r.sideNoise(&s.low) == 0 {
		j.dithers = [2]float64{undither(v[0], q), undither(v[sides-1], q)}
		j.still = min(j.dithers[0], j.dithers[1]) < q/5
	}
}

// chooseCourse decides whether the stops stayed, drifted or stepped, and names
// the fault.
func (r *Rocking) chooseCourse(j *judgement) {
	s := &r.scratch
	q := r.count()
	scale := math.Max(math.Max(0.012*j.swing, 0.25*q), j.blur)
	limit := math.Max(math.Max(0.04*j.swing, 0.6*q), 4*j.blur)
	if j.quiet {
		scale, limit = math.Max(scale, 0.5*q), math.Max(limit, 1.25*q)
	}
	h, l := &s.high, &s.low
	j.high, j.low = h.steady(s.values), l.steady(s.values)
	first, last := firstAfter(h, l, 0, 0), lastBefore(h, l, len(h.t), len(l.t))
	j.middle = (first + last) / 2
	if len(h.y)+len(l.y) < 4 {
		return
	}
	cost := h.misfit(j.high, scale) + l.misfit(j.low, scale)

	dh, dl := h.drifting(s.values), l.drifting(s.values)
	drift := h.misfit(dh, scale) + l.misfit(dl, scale) + 4
	at := stepTime(h, l, 1.5*j.swing, s.values)
	kh, kl := h.index(at), l.index(at)
	sh, sl := h.stepping(kh, s.values), l.stepping(kl, s.values)
	step := h.misfit(sh, scale) + l.misfit(sl, scale) + 5

	if step < cost && step <= drift && r.nameStep(j, sh, sl, kh, kl, limit) {
		j.high, j.low = sh, sl
		return
	}
	if drift < cost && r.nameDrift(j, dh, dl, last-first, limit) {
		j.high, j.low = dh, dl
	}
}

// nameStep names a step of sh.step and sl.step before the stops kh and kl.
func (r *Rocking) nameStep(j *judgement, sh, sl course, kh, kl int, limit float64) bool {
	s := &r.scratch
	nh, nl := len(s.high.y), len(s.low.y)
	a, b := math.Abs(sh.step), math.Abs(sl.step)
	both := sh.step*sl.step > 0 && math.Min(a, b) > 0.6*math.Max(a, b)
	switch {
	case both && math.Min(a, b) > limit:
		if kh+kl < 2 || nh-kh+nl-kl < 2 || math.Abs(a-b) > 0.3*j.swing {
			return false
		}
		if r.farShift(j, sh, sl) {
			j.faults.add(OffGear)
		} else {
			j.faults.add(ZeroShift)
		}
	case a > limit && b < 0.4*a && kh >= 2 && nh-kh >= 2,
		b > limit && a < 0.4*b && kl >= 2 && nl-kl >= 2:
		if math.Max(a, b) > 1.5*j.swing {
			return false
		}
		j.faults.add(PinionSlip)
	default:
		return false
	}
	j.refuse = true
	return true
}

// farShift reports whether a shift of both stops is so large that the plunger
// has come off its tooth rather than the gauge been bumped; one that leaves the
// reading about zero is a zero pressed, however large.
func (r *Rocking) farShift(j *judgement, sh, sl course) bool {
	const bump = 1 // mm
	size := (math.Abs(sh.step) + math.Abs(sl.step)) / 2
	now := (sh.level+sh.step+sl.level+sl.step)/2 + r.origin
	return size > math.Max(bump, 8*j.swing) && math.Abs(now) > 1.5*j.swing
}

// nameDrift names a drift of both stops over the time span.
func (r *Rocking) nameDrift(j *judgement, dh, dl course, span, limit float64) bool {
	s := &r.scratch
	if len(s.high.y) < 3 || len(s.low.y) < 3 {
		return false
	}
	a, b := dh.slope*span, dl.slope*span
	big, small := math.Max(math.Abs(a), math.Abs(b)), math.Min(math.Abs(a), math.Abs(b))
	if big < limit {
		return false
	}
	if a*b > 0 && small > 0.5*big {
		j.faults.add(BaseCreep)
		j.creep = (dh.slope + dl.slope) / 2
		if big > 1.5*j.swing {
			j.refuse = true
		}
		return true
	}
	if small > 0.4*big {
		return false
	}
	j.faults.add(PinionSlip)
	j.refuse = true
	return true
}

// setAside leaves out stops that differ from the course of their side: partial
// rocks, lifted plungers, the first rock.
func (r *Rocking) setAside(j *judgement) {
	s := &r.scratch
	q := r.count()
	v := s.values[:0]
	each := func(do func(c *stop, miss float64, k int)) {
		for _, side := range []*series{&s.high, &s.low} {
			course := j.low
			if side == &s.high {
				course = j.high
			}
			for k, i := range side.at {
				do(&s.turns[i], side.y[k]-course.at(side.t[k], k), k)
			}
		}
	}
	each(func(_ *stop, miss float64, _ int) { v = append(v, math.Abs(miss)) })
	j.scatter = 1.4826 * medianInPlace(v)
	floor := math.Max(math.Max(0.04*j.swing, 0.6*q), 4*j.blur)
	if j.quiet {
		floor = math.Max(floor, 1.2*q)
	}
	reach := math.Max(floor, 4.5*j.scatter)
	firstReach := math.Max(0.75*floor, 3.5*j.scatter)
	each(func(c *stop, miss float64, k int) {
		outward := miss
		if !c.high {
			outward = -miss
		}
		switch {
		case outward > 1.5*j.swing:
			c.aside = true
			j.faults.add(OffGear)
		case k == 0 && math.Abs(miss) > firstReach:
			c.aside, j.first = true, true
		case outward < -reach:
			c.aside = true
			j.partial++
		case outward > reach:
			c.aside = true
			j.odd++
		}
	})
	if r.leftBand(j) {
		j.faults.add(OffGear)
	}
	if j.scatter > 0.15*j.swing {
		j.refuse = true
		for i := range s.turns {
			s.turns[i].aside = true
		}
	}
}

// leftBand reports whether the motion went far outside both stops without
// resting there.
func (r *Rocking) leftBand(j *judgement) bool {
	if j.faults.has(ZeroShift) {
		return false
	}
	s := &r.scratch
	out := func(x, t float64) bool {
		return x > j.high.level+j.high.slope*t+2*j.swing || x < j.low.level+j.low.slope*t-2*j.swing
	}
	for _, c := range s.turns {
		if !c.rested && out(c.level, c.t) {
			return true
		}
	}
	z := &r.zig
	return z.begun && (out(z.hi, z.thi) || out(z.lo, z.tlo))
}
