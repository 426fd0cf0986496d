package rocking

import (
	"math"

	"crownlog/analysis"
)

// A segmenter parts a trace into dwells and turning points as it comes.
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
	noise noiseMeter
	still stillness

	cur      block
	recent   [128]block // the newest blocks
	blocks   int        // how many there were
	free     int        // of those, how many cannot be in the next dwell
	dwelling bool
	found    bool // StopFound was sent for this dwell
	open     profile
	oddHeld  bool // one block is out of line, and held back while the dwell may go on

	dwells history[dwell]
	turns  history[turn]
	zig    zigzag
	lo, hi float64    // of all readings
	moved  [2]float64 // lowest and highest reading since the last dwell
	// Of neighbouring dwells: their typical distance, 0 if unknown, the seconds
	// between them, and half way between them.
	swing, half, middle float64

	flip   flipWatch
	tol    float64 // widest range of a dwell
	tolAge int
	gaps   history[gap]

	missing float64 // readings that would explain the last silence if they came late
	silent  float64 // when it ended
}

const (
	blockSpan   = 0.0083 // s: samples closer than this are taken together
	minDwell    = 0.199  // s: shortest dwell at a stop
	minDwellN   = 3      // readings in a dwell, 2 of a slow gauge
	spikeGauge  = 0.055  // s between readings up to which one block out of line is a spike
	slowGauge   = 0.085  // s between readings that make a gauge slow; off the round rates
	gapFloor    = 0.4    // s: no shorter silence is a gap
	gapReadings = 5.5    // intervals: nor one with fewer readings missing
	lateWithin  = 0.05   // s after a silence: readings of a reader that slept come at once
	noisyN      = 8      // readings that show what noise they have
	dwellCap    = 64     // dwells, turning points and gaps remembered, the newest
)

// learn takes from the reading x at t, which differs by d from the one before,
// what it says of the gauge, and returns the second difference, 0 after a gap.
func (r *segmenter) learn(t, x, d, dt float64, silent bool) (d2 float64) {
	const quick = 0.06 // s: no hand crosses half the swing in it
	if d != 0 {
		r.grid.add(d)
	}
	jump := 0.0
	if dt < quick {
		jump = 0.5 * r.swing
	}
	r.still.add(d, x, t, jump)
	if silent {
		r.gaps.push(gap{r.t, t})
		r.still.start(x, t)
	} else {
		d2 = d - r.d
		if r.interval > slowGauge {
			r.noise.add(d * math.Sqrt(3)) // second differences would be motion, most first ones are within dwells
		} else {
			r.noise.add(d2)
		}
	}
	r.t, r.x, r.d = t, x, d
	return d2
}

func (r *segmenter) start(s analysis.Sample) {
	r.started, r.origin, r.n = true, s.X, 1
	r.t, r.first, r.clock = s.T, s.T, s.T
	r.cur = newBlock(s.T, 0, 0, 0, false)
	r.still.start(0, s.T)
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
	step := math.Min(dt, 3*r.interval) - r.interval
	r.interval += step / 16
	return gap
}

// push takes the next block.
func (r *segmenter) push(b block) {
	r.lo, r.hi = math.Min(r.lo, b.min), math.Max(r.hi, b.max)
	// What is known of the gauge changes fast at first and slowly later; taking the
	// tolerance anew for every block would cost more than all the rest.
	if r.tolAge++; r.tolAge >= 32 || r.n < 64 {
		r.retune()
	}
	if tp, ok := r.zig.add(&b, r.turnSize()); ok {
		r.turns.push(tp)
	}
	if r.swing > 0 {
		r.watchFlip(&b)
	}
	r.recent[r.blocks%len(r.recent)] = b
	r.blocks++
	if r.dwelling {
		r.hold(b)
	} else {
		r.seek()
	}
}
