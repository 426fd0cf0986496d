package report

import (
	"math"
	"slices"

	"crownlog/analysis/gum"
)

// A scale maps values from low to high on lengths from from to to.
type scale struct {
	low, high float64
	from, to  float64
	ticks     []float64 // round values inside
}

// newScale covers low to high and the ends of its ticks with about want ticks
// of 1, 2 or 5 times a power of ten.
func newScale(low, high, from, to float64, want int) scale {
	if !(high > low) {
		low, high = low-0.5, low+0.5
	}
	step := roundStep((high - low) / float64(want))
	s := scale{low: math.Floor(low/step+1e-9) * step, high: math.Ceil(high/step-1e-9) * step, from: from, to: to}
	n := int(math.Round((s.high - s.low) / step))
	for i := 0; i <= n; i++ {
		s.ticks = append(s.ticks, s.low+float64(i)*step)
	}
	return s
}

// newFixedScale covers low to high and no more; its ticks are the round values
// between them.
func newFixedScale(low, high, from, to float64, want int) scale {
	s := newScale(low, high, from, to, want)
	s.low, s.high = low, high
	s.ticks = slices.DeleteFunc(s.ticks, func(t float64) bool { return t < low-1e-9 || t > high+1e-9 })
	return s
}

// roundStep is the smallest of 1, 2 and 5 times a power of ten that is not
// below v.
func roundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if v <= m*p*(1+1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// at is the length of v, held within the scale's ends.
func (s scale) at(v float64) float64 {
	v = math.Min(math.Max(v, s.low), s.high)
	return s.from + (v-s.low)/(s.high-s.low)*(s.to-s.from)
}

// window is where the limits stand; an open side reaches the end of the scale.
func (s scale) window(l gum.Limits) (lower, upper float64) {
	lower, upper = s.from, s.to
	if !math.IsNaN(l.Lower) {
		lower = s.at(l.Lower)
	}
	if !math.IsNaN(l.Upper) {
		upper = s.at(l.Upper)
	}
	return lower, upper
}

// figure writes a tick.
func (s scale) figure(tick float64) string { return Format{Decimals: s.decimals()}.figure(tick) }

// decimals is how many decimals the ticks need.
func (s scale) decimals() int {
	if len(s.ticks) < 2 {
		return 0
	}
	return max(0, int(math.Ceil(-math.Log10(s.ticks[1]-s.ticks[0])-1e-9)))
}

// A span collects the smallest and largest finite value.
type span struct{ low, high float64 }

func newSpan() span { return span{math.Inf(1), math.Inf(-1)} }

func (s *span) add(vs ...float64) {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		s.low, s.high = math.Min(s.low, v), math.Max(s.high, v)
	}
}

// widened is the span with a share of it and some more on either side; 0 to 1
// with nothing in it.
func (s span) widened(share, more float64) (low, high float64) {
	if s.low > s.high {
		s = span{0, 1}
	}
	margin := share*(s.high-s.low) + more
	return s.low - margin, s.high + margin
}
