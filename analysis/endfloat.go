package analysis

import "math"

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
	near := math.Max(0.08*j.swing, 1.213*r.count())
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
	tight := math.Max(0.04*j.swing, 0.613*r.count())
	if j.quiet {
		tight = math.Max(tight, 1.113*r.count())
	}
	least := max(2, (3*n+9)/10)
	if cut < least || n-cut < least || gap < math.Max(0.08*j.swing, 1.613*r.count()) || gap > 1.5*j.swing ||
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
