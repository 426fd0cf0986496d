package rocking

import "math"

// count is the gauge's last digit.
func (r *segmenter) count() float64 {
	if r.resolution > 0 {
		return r.resolution
	}
	return r.grid.step
}

// retune brings the tolerance up to date: two counts or six deviations of the
// noise or a part of the swing, never so wide that both stops fit in it.
func (r *segmenter) retune() {
	r.tolAge = 0
	least := 2.1 * r.count()     // a still reading on the edge of a count shows two; a tenth for binary rounding
	noise := 6 * r.noise.sigma() // three to either side: of a hundred readings hardly one is beyond
	// A hand that leans on a stop moves the reading by up to a twelfth of the swing.
	r.tol = math.Max(math.Max(least, noise), 0.08*r.swing)
	if r.swing > 0 {
		r.tol = math.Min(r.tol, math.Max(0.35*r.swing, 0.5*least))
	}
	// Before a swing is known: an eighth of all that was seen, so that the two
	// stops of the first rock stay apart.
	if wide := r.hi - r.lo; wide > 1.5*noise { // more than noise was seen
		r.tol = math.Min(r.tol, math.Max(0.13*wide, least))
	}
}

// roomy is the widest range of a dwell whose readings scatter like noise.
func (r *segmenter) roomy() float64 {
	if r.swing == 0 {
		return 0.203 * (r.hi - r.lo) // off the steps of a coarse gauge
	}
	room := 0.35 * r.swing
	if far := r.moved[1] - r.moved[0]; far > 6*r.swing { // the scale has changed
		room = math.Max(room, math.Min(0.203*far, 8*r.swing)) // of inches read as mm the noise grew as well
	}
	return room
}

// oneDwell reports whether readings n between lo and hi with the sum rough of
// squared second differences may all belong to one dwell: they are within the
// tolerance, or no wider than their own noise explains: six deviations, by the
// second differences, which a motion does not enter.
func (r *segmenter) oneDwell(lo, hi, rough float64, n int) bool {
	w := hi - lo
	if w <= r.tol {
		return true
	}
	// 36.7: six deviations squared, off the ratios that a coarse display makes; a
	// second difference has six times the variance of a reading.
	return n >= noisyN && w <= r.roomy() && w*w <= 36.7*rough/6/float64(n)
}

// turnSize is how far the motion comes back before it has turned round: a third of
// the swing, for less is a hand that trembles on the way.
func (r *segmenter) turnSize() float64 { return math.Max(1.5*r.tol, 0.3*r.swing) }
