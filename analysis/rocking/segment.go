package rocking

import (
	"cmp"
	"math"
)

// A segmenter parts a trace into dwells and motion as it comes: the parting that
// has the least cost, where a block of a dwell costs minus the logarithm of its
// likelihood, normal about the dwell's mean, a block of motion as much as one that
// may lie anywhere, and each dwell something to begin.
// Source: optimal partitioning with pruning, Killick, Fearnhead and Eckley 2012.
type segmenter struct {
	resolution float64 // mm, as told; 0: to be found

	started  bool
	origin   float64 // first reading: all values below are relative to it
	n, bad   int     // samples, and those that are not finite
	back     int     // times the clock went back
	shift    float64 // added to T so that time never runs back
	t, x, d  float64 // last time, value and first difference
	first    float64 // first time
	clock    float64 // time of the last sample, taken or not
	interval float64 // s between readings with different times, smoothed
	quickest float64 // the least of them
	repeats  int     // readings the same as the one before; none: the gauge sends on change
	packets  bool    // several readings had the same time, as a USB bridge delivers them

	grid  grid
	still stillness
	zig   zigzag
	turns history[turn]
	gaps  history[gap]

	cur    block
	kept   [keptBlocks]block // since the stroke before the dwell that is not filed yet
	used   int
	starts [maxStarts + 1]start // dwells that may be going on
	begun  int                  // how many
	motion logarithm            // of the width a block of motion may lie in
	rest   logarithm            // of the least variance of a dwell
	path   dwellSpan            // the newest dwell of the best parting; not filed
	filed  dwellSpan            // the one before it
	dwells history[dwell]

	lo, hi float64   // of all readings
	recent [2]extent // of the blocks of these and the last two seconds
	swing  float64   // typical distance of neighbouring dwells; 0: unknown

	rough, roughN float64 // squared second differences within the dwells filed

	missing float64 // readings that would explain the last silence if they came late
	silent  float64 // when it ended
}

const (
	// Readings closer than this in s are taken together: a tenth of the shortest
	// dwell, off the round rates.
	blockSpan = 0.0195
	// A hand that feels a stop dwells there for 0.2 s and three readings, two of a
	// slow gauge, one of fewer than twelve readings a second.
	minDwell, minDwellN, slowGauge = 0.199, 3, 0.085
	// A dwell must gain so much likelihood, as a natural logarithm, over motion: three
	// readings of a coarse gauge at 10 Hz gain four. Tuned on the models, 2 to 5 do.
	dwellOdds = 3.0
	// No dwell deviates by less than this share of the swing: the creep of a usual
	// stop is not parted further. Tuned on the models, 0.01 to 0.03 do.
	stiffest = 0.02
	// Levels nearer than this share of the swing are one stop found by hands; as many
	// counts are a still reading on an edge, a tenth for binary rounding.
	nearShare, flicker = 0.1, 2.1
	// Less of a swing back is a hand that trembles on the way or a partial rock.
	turnShare  = 0.3
	usualSwing = 0.1 // mm, taken before any is known: no dwell is wider than noise then
	// No shorter silence is a gap, in s, nor one with fewer readings missing.
	gapFloor, gapReadings = 0.4, 5.5
	// For as many s after a silence readings of a reader that slept come at once.
	lateWithin = 0.05
	noisyN     = 8   // readings that show what noise they have
	keptBlocks = 256 // room for a stroke, a dwell in full for 1.6 s and what may follow
	maxStarts  = 16  // a third of a second: what is no dwell by then began later
)

// A dwellSpan is a dwell of the best parting.
type dwellSpan struct{ from, to, level float64 }

// A start is a dwell that may have begun after the blocks before it.
type start struct {
	from       float64
	readings   int
	n          float64   // blocks
	x          float64   // mean of the first
	sum, sumsq float64   // of the blocks' means about x
	before     float64   // cost of the best parting up to its beginning, above that up to now
	past       dwellSpan // the newest dwell of that
}

// add takes a block of readings, the mean of which is y.
func (c *start) add(b *block, y float64) {
	if c.n == 0 {
		c.from, c.x = b.from, y
	}
	y -= c.x
	c.n++
	c.readings += b.n
	c.sum += y
	c.sumsq += y * y
}

// variance of the blocks' means.
func (c *start) variance() float64 {
	mean := c.sum / c.n
	return c.sumsq/c.n - mean*mean
}

// A logarithm is remembered for as long as it is asked of the same number.
type logarithm struct{ x, log float64 }

func (l *logarithm) of(x float64) float64 {
	if x != l.x || l.log == 0 { // that of 1, or none yet
		l.x, l.log = x, math.Log(x)
	}
	return l.log
}

// An extent is the range of the readings since a time.
type extent struct{ since, lo, hi float64 }

// count is the gauge's last digit.
func (r *segmenter) count() float64 {
	if r.resolution > 0 {
		return r.resolution
	}
	return r.grid.step
}

// known is the swing, or what is known of it.
func (r *segmenter) known() float64 { return cmp.Or(r.swing, r.hi-r.lo) }

// near is how far apart levels of one stop may lie.
func (r *segmenter) near() float64 {
	return min(max(nearShare*r.known(), flicker*r.count()), turnShare*r.known())
}

// span returns the blocks kept of a dwell: those from first up to last.
func (r *segmenter) span(w dwellSpan) (first, last int) {
	for first < r.used && r.kept[first].from < w.from {
		first++
	}
	last = first
	for last < r.used && r.kept[last].from <= w.to {
		last++
	}
	return first, last
}
