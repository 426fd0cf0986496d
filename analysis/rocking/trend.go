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

// A trend says how the level of one stop went over time: steady, drifting or
// stepping once.
type trend struct {
	level float64 // before a step, or at time 0 of a drift
	slope float64 // per second
	step  float64 // from index on
	from  int
}

func (c trend) at(t float64, i int) float64 {
	y := c.level + c.slope*t
	if i >= c.from {
		y += c.step
	}
	return y
}

// doubt returns the deviation of what the trend of n levels goes by over its
// time, in deviations of one level: of the difference of the means of the first
// from of n levels and the others, or of the ends of a line by least squares.
func (c trend) doubt(n int) float64 {
	k, f := float64(c.from), float64(n)
	if c.from == 0 {
		return math.Sqrt(12 * (f - 1) / (f * (f + 1)))
	}
	return math.Sqrt(1/k + 1/(f-k))
}

func (s series) steady(room []float64) trend { return trend{level: medianInPlace(s.levels(room))} }

// drifting is the line through the series by Theil and Sen: the median of the
// slopes of all its pairs, of a long series of those half or a third of it apart.
func (s series) drifting(room []float64) trend {
	v := room[:0]
	n := len(s)
	for i := range n {
		for j := i + 1; j < n; j++ {
			if s[j].t > s[i].t && (n <= 24 || j == i+n/2 || j == i+n/3) {
				v = append(v, (s[j].level-s[i].level)/(s[j].t-s[i].t))
			}
		}
	}
	if len(v) == 0 {
		return s.steady(room)
	}
	c := trend{slope: medianInPlace(v)}
	v = room[:0]
	for _, d := range s {
		v = append(v, d.level-c.slope*d.t)
	}
	c.level = medianInPlace(v)
	return c
}

// stepping is the trend with one step after time t.
func (s series) stepping(t float64, room []float64) trend {
	v := s.levels(room)
	k := 0
	for k < len(s) && s[k].t <= t {
		k++
	}
	if k == 0 || k == len(s) {
		return s.steady(room)
	}
	before, after := medianInPlace(v[:k]), medianInPlace(v[k:])
	return trend{level: before, step: after - before, from: k}
}
