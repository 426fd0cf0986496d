package report

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"crownlog/analysis/units"
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
	step := units.RoundStep((high - low) / float64(want))
	s := scale{low: math.Floor(low/step+1e-9) * step, high: math.Ceil(high/step-1e-9) * step, from: from, to: to}
	n := int(math.Round((s.high - s.low) / step))
	s.ticks = floats.Span(make([]float64, n+1), s.low, s.high)
	return s
}

// at is the length of v, held within the scale's ends.
func (s scale) at(v float64) float64 {
	v = math.Min(math.Max(v, s.low), s.high)
	return s.from + (v-s.low)/(s.high-s.low)*(s.to-s.from)
}

// figure writes a tick with as many decimals as the ticks need.
func (s scale) figure(tick float64) string {
	decimals := math.Ceil(-math.Log10(s.ticks[1]-s.ticks[0]) - 1e-9)
	return Format{Decimals: max(0, int(decimals))}.figure(tick)
}

// extent is the smallest and the largest number of vs; 0 and 1 where there is none.
func extent(vs []float64) (low, high float64) {
	vs = slices.DeleteFunc(slices.Clone(vs), math.IsNaN)
	if len(vs) == 0 {
		return 0, 1
	}
	return slices.Min(vs), slices.Max(vs)
}
