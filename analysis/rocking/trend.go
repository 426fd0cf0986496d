package rocking

import "math"

// A series is the levels of one stop over time.
type series struct {
	t, y []float64
	at   []int // index of the stop
}

func (s *series) init(room int) {
	s.t, s.y, s.at = make([]float64, 0, room), make([]float64, 0, room), make([]int, 0, room)
}

func (s *series) reset() { s.t, s.y, s.at = s.t[:0], s.y[:0], s.at[:0] }

func (s *series) add(t, y float64, at int) {
	s.t, s.y, s.at = append(s.t, t), append(s.y, y), append(s.at, at)
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
func (s *series) misfit(c trend, scale float64) float64 {
	const missCap = 5
	sum := 0.0
	for i, y := range s.y {
		sum += math.Min(math.Abs(y-c.at(s.t[i], i))/scale, missCap)
	}
	return sum
}

func (s *series) steady(room []float64) trend {
	return trend{level: medianInPlace(append(room[:0], s.y...))}
}

// drifting is the line through the series by Theil and Sen: the median of the
// slopes of all its pairs, of a long series of those half or a third of it
// apart.
func (s *series) drifting(room []float64) trend {
	v := room[:0]
	n := len(s.y)
	slope := func(i, j int) {
		if dt := s.t[j] - s.t[i]; dt > 0 {
			v = append(v, (s.y[j]-s.y[i])/dt)
		}
	}
	for i := range n {
		if n > 12 {
			if i+n/2 < n {
				slope(i, i+n/2)
			}
			if i+n/3 < n {
				slope(i, i+n/3)
			}
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
	for i, y := range s.y {
		v = append(v, y-c.slope*s.t[i])
	}
	c.level = medianInPlace(v)
	return c
}

// stepping is the trend with one step before index k.
func (s *series) stepping(k int, room []float64) trend {
	if k <= 0 || k >= len(s.y) {
		return s.steady(room)
	}
	before := medianInPlace(append(room[:0], s.y[:k]...))
	after := medianInPlace(append(room[:0], s.y[k:]...))
	return trend{level: before, step: after - before, from: k}
}

// index returns the number of levels before time t.
func (s *series) index(t float64) int {
	k := 0
	for k < len(s.t) && s.t[k] < t {
		k++
	}
	return k
}

// stepTime returns the time at which one step in both series leaves the least
// sum of squares, each level first held within reach of the median.
func stepTime(a, b *series, reach float64, room []float64) float64 {
	ca, cb := a.steady(room).level, b.steady(room).level
	hold := func(y, c float64) float64 { return math.Max(-reach, math.Min(reach, y-c)) }
	var sa, sb float64
	for _, y := range a.y {
		sa += hold(y, ca)
	}
	for _, y := range b.y {
		sb += hold(y, cb)
	}
	best, at := -1.0, math.Inf(1)
	var pa, pb float64
	i, j := 0, 0
	for i < len(a.y) || j < len(b.y) {
		if j >= len(b.y) || i < len(a.y) && a.t[i] < b.t[j] {
			pa += hold(a.y[i], ca)
			i++
		} else {
			pb += hold(b.y[j], cb)
			j++
		}
		na, nb := len(a.y)-i, len(b.y)-j
		if i+j < 2 || na+nb < 2 {
			continue
		}
		gain := between(pa, i, sa-pa, na) + between(pb, j, sb-pb, nb)
		if gain > best {
			best = gain
			last, next := lastBefore(a, b, i, j), firstAfter(a, b, i, j)
			at = (last + next) / 2
		}
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

func lastBefore(a, b *series, i, j int) float64 {
	t := math.Inf(-1)
	if i > 0 {
		t = a.t[i-1]
	}
	if j > 0 {
		t = math.Max(t, b.t[j-1])
	}
	return t
}

func firstAfter(a, b *series, i, j int) float64 {
	t := math.Inf(1)
	if i < len(a.t) {
		t = a.t[i]
	}
	if j < len(b.t) {
		t = math.Min(t, b.t[j])
	}
	return t
}
