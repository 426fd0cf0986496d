package rocking

// A stop is a place where the motion turned round: a dwell, or a bare turning
// point where the wheel came back at once. Values are relative to the first
// reading of the trace.
type stop struct {
	dwell
	t       float64 // middle of the dwell, or time of the turn
	dwelt   bool
	high    bool
	outlier bool // left out of the value

	came, left [2]float64 // where the dwell may have begun and ended, the base being nudged meanwhile
}

// outward turns a difference at the stop over where up is inward: more than 0 is
// then beyond the stop.
func (a *stop) outward(d float64) float64 {
	if a.high {
		return d
	}
	return -d
}

// A series is the stops of one side over time.
type series []*stop

// used goes through the stops that are in use.
func (s series) used(yield func(c *stop) bool) {
	for _, c := range s {
		if !c.outlier && !yield(c) {
			return
		}
	}
}

// sound returns how many of the stops are in use.
func (s series) sound() (n int) {
	for range s.used {
		n++
	}
	return n
}

// parted reports whether two of the stops at least are before the time and two
// after it.
func (s series) parted(t float64) bool {
	return len(s) >= 4 && s[1].t <= t && s[len(s)-2].t > t
}

// halves returns the level that parts the stops where they are furthest apart.
// Three in ten stops at least are on either side: fewer are partial rocks.
func (s series) halves(room []float64) (at float64, ok bool) {
	v := room[:0]
	for _, c := range s {
		v = append(v, c.level)
	}
	medianInPlace(v)
	gap := 0.0
	for k, least := 0, max(2, (3*len(v)+9)/10); k <= len(v)-least; k++ {
		if k >= least && v[k]-v[k-1] > gap {
			gap, at = v[k]-v[k-1], (v[k]+v[k-1])/2
		}
	}
	return at, gap > 0
}
