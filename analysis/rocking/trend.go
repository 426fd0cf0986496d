package rocking

import "math"

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

// levels writes the levels of the stops into room.
func (s series) levels(room []float64) []float64 {
	room = room[:0]
	for _, c := range s {
		room = append(room, c.level)
	}
	return room
}

// A trend says how the level of one stop went over time: it stayed, drifted,
// stepped once or was now here, now there.
type trend struct {
	level float64 // before a step, or at time 0 of a drift
	slope float64 // per second
	step  float64 // from index on
	from  int
	other float64 // how far off its second level is; 0: it has none
}

// miss returns how far the stop c, the k-th of its side, is off.
func (d trend) miss(c *stop, k int) float64 {
	off := c.level - d.level - d.slope*c.t
	if k >= d.from {
		off -= d.step
	}
	if math.Abs(off-d.other) < math.Abs(off) {
		off -= d.other
	}
	return off
}

// size is how far the stop goes over the time span.
func (d trend) size(span float64) float64 {
	return math.Max(math.Abs(d.slope)*span, math.Max(math.Abs(d.step), math.Abs(d.other)))
}

// through returns the trend d shifted to the middle of the series.
func (s series) through(d trend, room []float64) trend {
	v := room[:0]
	for k, c := range s {
		v = append(v, d.miss(c, k))
	}
	d.level += medianInPlace(v)
	return d
}

// drifting is the slope of the series by Theil and Sen: the median of the slopes of
// all its pairs, of a long series of those half or a third of it apart.
func (s series) drifting(room []float64) trend {
	v := room[:0]
	n := len(s)
	for i := range n {
		for k := i + 1; k < n; k++ {
			if s[k].t > s[i].t && (n <= 12 || k == i+n/2 || k == i+n/3) {
				v = append(v, (s[k].level-s[i].level)/(s[k].t-s[i].t))
			}
		}
	}
	if len(v) == 0 {
		return trend{}
	}
	return trend{slope: medianInPlace(v)}
}

// stepping is one step after time t, with so many stops before it and after it at
// the least.
func (s series) stepping(t float64, least int, room []float64) trend {
	v := s.levels(room)
	k := 0
	for k < len(s) && s[k].t <= t {
		k++
	}
	if k < least || len(s)-k < least {
		return trend{}
	}
	before, after := medianInPlace(v[:k]), medianInPlace(v[k:])
	return trend{step: after - before, from: k}
}

// alike returns d and e, of n and m stops, with the one step that both make.
func (d trend) alike(e trend, n, m int) (trend, trend) {
	a, b := float64(d.from*(n-d.from))/float64(max(n, 1)), float64(e.from*(m-e.from))/float64(max(m, 1)) // stops that each is known as well as by
	if a+b > 0 {
		d.step = (a*d.step + b*e.step) / (a + b)
	}
	e.step = d.step
	return d, e
}

// turning is two levels in turn, parted where the levels are furthest apart. Three
// in ten stops at least are at either: fewer are partial rocks.
func (s series) turning(room []float64) trend {
	v := s.levels(room)
	medianInPlace(v)
	least, cut := max(2, (3*len(v)+9)/10), 0
	for k := least; k <= len(v)-least; k++ {
		if cut == 0 || v[k]-v[k-1] > v[cut]-v[cut-1] {
			cut = k
		}
	}
	if cut == 0 {
		return trend{}
	}
	low := medianInPlace(v[:cut])
	return trend{level: low, other: medianInPlace(v[cut:]) - low}
}
