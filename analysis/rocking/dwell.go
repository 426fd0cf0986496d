package rocking

import "math"

// A dwell is what is kept of one. Values are relative to the first reading of the trace.
type dwell struct {
	from, to      float64
	n             int
	level         float64   // trimmed mean of the settled part
	sumsq         float64   // about level, settled part
	core          int       // samples of the settled part
	creep         [bins]bin // its approach
	came          float64   // level before a step within the dwell
	left          float64   // and after it; both level where there is none
	noise         float64   // deviation by second differences
	rough, roughN float64   // their squares, and of how many readings
	min, max      float64   // settled part
	changes       int       // settled part: samples that differ from the one before
	bend          float64   // how far it goes up from its middle to its ends
}

// A bin sums n readings of a dwell: their times since its beginning, their
// distance from its level; core of them are behind the level.
type bin struct{ n, t, off, core float64 }

// bins of half octaves, the first from firstBin on; what comes before is arrival.
const (
	bins     = 12
	firstBin = 0.03
)

func binOf(t float64) int {
	if t < firstBin {
		return -1
	}
	return min(bins-1, int(2*math.Log2(t/firstBin)))
}
