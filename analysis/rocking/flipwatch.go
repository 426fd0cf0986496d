package rocking

import "math"

const inch = 25.4 // mm, exactly

// A flipWatch looks for a trace that shrank by 25.4, whose swings have become
// smaller than a dwell is wide.
type flipWatch struct {
	zig  zigzag
	last turn
	seen bool
	good int
	sure bool
}

// watchFlip follows the small turns of the motion.
func (r *segmenter) watchFlip(b *block) {
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
	// As large as the swing should be now within a third, as slow as a hand rocks,
	// and about the old middle divided by 25.4: flicker is none of these.
	if size > 0.65*small && size < 1.65*small && wait > 0.35*r.half && math.Abs(middle*inch-was) < 0.6*r.swing {
		f.good++
	} else {
		f.good = 0
	}
	w := &r.open.whole
	long := r.dwelling && w.to-w.from > 2*r.half
	// Three small turns, or two within what would be a dwell of a whole rock.
	f.sure = f.sure || f.good >= 3 || f.good == 2 && long
}
