// Package dwells parts a trace of a plunger into dwells and motion as the readings come,
// in constant memory, and notes where the motion turned, where no reading came and for
// how long the value stood. What that means is for others to judge. Levels are relative
// to the first reading, times in s, both in the units of the samples.
package dwells

import (
	"cmp"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/digit"
	"crownlog/analysis/internal/stat"
)

// A Segmenter parts a trace into dwells and motion as it comes: the parting that
// has the least cost, where a block of a dwell costs minus the logarithm of its
// likelihood, normal about the dwell's mean, a block of motion as much as one that
// may lie anywhere, and each dwell something to begin.
// Source: optimal partitioning with pruning, Killick, Fearnhead and Eckley 2012.
type Segmenter struct {
	Resolution float64 // mm, as told; 0: to be found

	Origin   float64 // first reading: all values below are relative to it
	N, Bad   int     // samples, and those that are not finite
	Back     int     // times the clock went back
	shift    float64 // added to T so that time never runs back
	T, x     float64 // last time and value
	clock    float64 // time of the last sample, taken or not
	Interval float64 // s between readings with different times, smoothed
	quickest float64 // the least of them
	repeats  bool    // a reading was the same as the one before; else the gauge sends on change

	Grid  digit.Grid
	Still stillness
	zig   zigzag
	Turns history[Turn]
	Gaps  history[Gap]

	cur    block
	kept   [keptBlocks]block // of the dwell that is not filed yet, and since
	used   int
	starts [maxStarts]start // dwells that may be going on
	begun  int              // how many
	width  float64          // in which a block of motion may lie, and its logarithm
	motion float64
	least  float64 // variance of a dwell, and its logarithm with 2πe
	rest   float64
	path   dwellSpan // the newest dwell of the best parting; not filed
	filed  dwellSpan // the one before it
	Dwells history[Dwell]

	lo, hi float64   // of all readings
	recent [2]extent // of the blocks of these and the last two seconds
	Swing  float64   // typical distance of neighbouring dwells; 0: unknown

	missing float64 // readings that would explain the last silence if they came late

	doubt   analysis.Sample // a reading that may be wild, on our clock, relative to the first
	doubted bool
}

const (
	// Readings closer than this in s are taken together: a tenth of the shortest
	// dwell, off the round rates.
	blockSpan = 0.0195
	// A hand that feels a stop dwells there for 0.2 s, a hair less for times held in
	// binary. Fewer than three readings tell no rest from a turn between them.
	MinDwell, MinDwellN = 0.199, 3
	// In a moment, in s, no hand crosses half the swing, it comes to a stand or leaves, and
	// no gauge that a hand is felt through sends nothing. Tuned on the models and the
	// held-out bench, 0.07 to 0.09 do.
	Moment = 0.08
	// A dwell must gain so much likelihood, as a natural logarithm, over motion: three
	// readings of a coarse gauge at 10 Hz gain four. Tuned on the models, 2 to 5 do.
	dwellOdds = 3
	// No dwell deviates by less than this share of the swing: the creep of a usual
	// stop is not parted further. Tuned on the models, 0.01 to 0.03 do.
	stiffest = 0.02
	// Levels nearer than this share of the swing are one stop found by hands; as many
	// counts are a still reading on an edge, a tenth for binary rounding.
	nearShare, Flicker = 0.1, 2.1
	// Less of a swing back is a hand that trembles on the way or a partial rock.
	turnShare  = 0.3
	usualSwing = 0.1 // mm, taken before any is known: no dwell is wider than noise then
	// No tooth and no bearing has more play than so many swings, and no gear gives
	// way further.
	PlayMost = 1.5
	// No shorter silence is a gap, in s, nor one with fewer readings missing.
	gapFloor, gapReadings = 0.4, 5.5
	keptBlocks            = 256 // room for a dwell of 5 s of a fast gauge, half of it in full for good
	maxStarts             = 16  // a third of a second: what began earlier and lives is a dwell
)

// A dwellSpan is a dwell of the best parting.
type dwellSpan struct{ from, to, level float64 }

// A start is a dwell that may have begun after the blocks before it.
type start struct {
	from       float64
	n          float64   // blocks
	x          float64   // mean of the first
	sum, sumsq float64   // of the blocks' means about x
	before     float64   // cost of the best parting up to its beginning, above that up to now
	past       dwellSpan // the newest dwell of that
}

// add takes a block of readings, the mean of which is y, and returns the variance of all.
func (c *start) add(b *block, y float64) float64 {
	if c.n == 0 {
		c.from, c.x = b.from, y
	}
	y -= c.x
	c.n++
	c.sum += y
	c.sumsq += y * y
	return c.sumsq/c.n - c.sum*c.sum/(c.n*c.n)
}

// An extent is the range of the readings since a time.
type extent struct{ since, lo, hi float64 }

// Count is the gauge's last digit.
func (r *Segmenter) Count() float64 { return cmp.Or(max(r.Resolution, 0), r.Grid.Step) }

// Since is the beginning of the newest dwell, which is not among Dwells yet.
func (r *Segmenter) Since() float64 { return r.path.from }

// known is the swing, or what is known of it.
func (r *Segmenter) known() float64 { return cmp.Or(r.Swing, max(r.hi-r.lo, usualSwing)) }

// Near is how far apart levels of one stop may lie.
func (r *Segmenter) Near() float64 {
	return min(max(nearShare*r.known(), Flicker*r.Count()), turnShare*r.known())
}

// span returns the blocks kept of a dwell.
func (r *Segmenter) span(w dwellSpan) blocks {
	p := r.kept[:r.used]
	for len(p) > 0 && p[0].from < w.from {
		p = p[1:]
	}
	for len(p) > 0 && p[len(p)-1].from > w.to {
		p = p[:len(p)-1]
	}
	return p
}

func (r *Segmenter) start(s analysis.Sample) {
	r.Origin, r.N = s.X, 1
	r.T, r.clock, r.quickest = s.T, s.T, math.Inf(1)
	r.cur.add(s.T, 0, 0)
	r.Still.start(s.T, 0)
	r.filed.from, r.path.from, r.path.to = math.Inf(-1), math.Inf(-1), math.Inf(-1)
	r.starts[0], r.begun = start{past: r.path}, 1
	r.recent[1].since = s.T
}

// tick follows the time between readings and reports a gap. The interval is
// smoothed over some sixteen readings, so that packets of a radio do not shake it,
// and one silence counts for no more than a gap: it is no slower gauge.
func (r *Segmenter) tick(dt float64) bool {
	r.quickest = min(r.quickest, dt)
	r.Interval = cmp.Or(r.Interval, dt)
	most := gapReadings * r.Interval
	r.Interval += (min(dt, most) - r.Interval) / 16
	return dt > max(gapFloor, most)
}

// widen returns the range of the newest seconds' readings.
func (r *Segmenter) widen(b *block) float64 {
	const window = 2 // s
	old, now := &r.recent[0], &r.recent[1]
	if b.to-now.since > window {
		*old, *now = *now, extent{b.from, b.min, b.max}
	}
	now.lo, now.hi = min(now.lo, b.min), max(now.hi, b.max)
	return max(old.hi, now.hi) - min(old.lo, now.lo)
}

// push takes the next block.
func (r *Segmenter) push(b *block) {
	r.lo, r.hi = min(r.lo, b.min), max(r.hi, b.max)
	if tp, ok := r.zig.add(b, max(turnShare*r.known(), Flicker*r.Count())); ok {
		r.Turns.Push(tp)
	}
	r.keep(b)
	r.extend(b, r.widen(b))
}

// extend finds the best parting of all blocks up to b.
func (r *Segmenter) extend(b *block, wide float64) {
	small := min(wide, r.known())
	q := r.Count()
	least := max(digit.Rounded(q), stiffest*stiffest*small*small)
	if width := max(wide, usualSwing, q); width != r.width || least != r.least { // logarithms take time
		r.width, r.least, r.motion, r.rest = width, least, math.Log(width), math.Log(2*math.Pi*math.E*least)
	}
	best, at := r.motion, -1
	var costs [maxStarts]float64
	y := b.mean()
	for i := range r.begun {
		c := &r.starts[i]
		v := c.add(b, y)
		costs[i] = c.before + c.n/2*r.rest // no less than that
		if v > least && !(costs[i] > best) {
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
		if b.to-c.from+r.Interval >= MinDwell && c.n >= 2 {
			level := c.x + c.sum/c.n
			if c.from-path.to > MinDwell || math.Abs(level-path.level) > max(nearShare*small, Flicker*q) {
				path.from = c.from // else it is one dwell that creeps
			}
			path.to, path.level = b.to, level
			if path.from > c.past.from && c.past.from > r.filed.from {
				r.file(c.past)
			}
		}
	}
	r.path = path
	kept := 0
	for i := range r.begun {
		if costs[i] <= best {
			if kept != i {
				r.starts[kept] = r.starts[i]
			}
			r.starts[kept].before -= best
			kept++
		}
	}
	if r.begun = kept; kept < maxStarts {
		r.starts[kept] = start{from: b.to, past: path}
		r.begun++
	}
}

// keep adds a block to those that a dwell may still need. When they are full, those
// before it go, and the later half of the others, but for what may be the next dwell, is
// merged two by two.
func (r *Segmenter) keep(b *block) {
	if r.used == keptBlocks {
		from := min(r.starts[0].from, r.path.from)
		kept := r.kept[:0]
		for i := 0; i < keptBlocks; i++ {
			c := r.kept[i]
			switch {
			case c.from < from:
				continue
			case len(kept) >= keptBlocks/2 && i < keptBlocks-2*maxStarts:
				i++
				c.merge(&r.kept[i])
			}
			kept = append(kept, c)
		}
		r.used = len(kept)
	}
	r.kept[r.used] = *b
	r.used++
}

// file puts the dwell on the list.
func (r *Segmenter) file(w dwellSpan) {
	d, ok := r.settled(w)
	r.filed = w
	if ok {
		r.Dwells.Push(d)
		r.learnSwing()
	}
}

// Open returns the dwell that is not filed yet.
func (r *Segmenter) Open() (Dwell, bool) {
	if r.path.from <= r.filed.from {
		return Dwell{}, false
	}
	return r.settled(r.path)
}

// learnSwing takes the median distance of the newest dwells, eight at most so that it
// follows another unit, that are no nearer than three tenths of it or the digits'
// flicker; nearer, it is one stop twice or a partial rock.
func (r *Segmenter) learnSwing() {
	v := make([]float64, 0, 8)
	dwells := r.Dwells.List()
	for i := len(dwells) - 1; i > 0 && len(v) < cap(v); i-- {
		if d := math.Abs(dwells[i].Level - dwells[i-1].Level); d > max(turnShare*r.Swing, Flicker*r.Count()) {
			v = append(v, d)
		}
	}
	if len(v) > 0 {
		r.Swing = stat.MedianInPlace(v)
	}
}
