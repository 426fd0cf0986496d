package rocking

import (
	"math"
	"sort"
)

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
	if c.step != 0 && i >= c.from {
		y += c.step
	}
	return y
}

// misfit sums the distances of the levels from the trend in units of scale,
// none counted for more than missCap, so that a partial rock cannot bend the
// trend.
func (s series) misfit(c trend, scale float64) float64 {
	const missCap = 5
	sum := 0.0
	for i, d := range s {
		sum += math.Min(math.Abs(d.level-c.at(d.t, i))/scale, missCap)
	}
	return sum
}

func (s series) steady(room []float64) trend { return trend{level: medianInPlace(s.levels(room))} }

// drifting is the line through the series by Theil and Sen: the median of the
// slopes of all its pairs, of a long series of those half or a third of it
// apart.
func (s series) drifting(room []float64) trend {
	v := room[:0]
	n := len(s)
	slope := func(i, j int) {
		if j < n && s[j].t > s[i].t {
			v = append(v, (s[j].level-s[i].level)/(s[j].t-s[i].t))
		}
	}
	for i := range n {
		if n > 12 {
			slope(i, i+n/2)
			slope(i, i+n/3)
			continue
		}
		for j := i + 1; j < n; j++ {
			slope(i, j)
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

// stepping is the trend with one step before index k.
func (s series) stepping(k int, room []float64) trend {
	if k <= 0 || k >= len(s) {
		return s.steady(room)
	}
	v := s.levels(room)
	before, after := medianInPlace(v[:k]), medianInPlace(v[k:])
	return trend{level: before, step: after - before, from: k}
}

// index returns the number of stops before time t.
func (s series) index(t float64) int {
	return sort.Search(len(s), func(i int) bool { return s[i].t >= t })
}

// stepTime returns the time at which one step at both stops leaves the least
// sum of squares, each level first held within reach of the median of its side.
func (s *judgeScratch) stepTime(reach float64) float64 {
	middle := [2]float64{s.low.steady(s.values).level, s.high.steady(s.values).level}
	hold := func(c *stop) (side int, y float64) {
		if c.high {
			side = 1
		}
		return side, math.Max(-reach, math.Min(reach, c.level-middle[side]))
	}
	var before, after [2]float64
	var n, m [2]int // stops before and after
	for _, c := range s.dwelt {
		side, y := hold(c)
		after[side] += y
		m[side]++
	}
	best, at := -1.0, math.Inf(1)
	for k, c := range s.dwelt {
		// One stop before or after is an odd stop.
		if k >= 2 && len(s.dwelt)-k >= 2 {
			if gain := between(before[0], n[0], after[0], m[0]) + between(before[1], n[1], after[1], m[1]); gain > best {
				best, at = gain, (s.dwelt[k-1].t+c.t)/2
			}
		}
		side, y := hold(c)
		before[side], after[side] = before[side]+y, after[side]-y
		n[side]++
		m[side]--
	}
	return at
}

// between returns the sum of squares that splitting n+m values with the sums
// p and q takes away.
func between(p float64, n int, q float64, m int) float64 {
	if n == 0 || m == 0 {
		return 0
	}
	d := p/float64(n) - q/float64(m)
	return d * d * float64(n) * float64(m) / float64(n+m)
}
