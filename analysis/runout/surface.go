package runout

import (
	"math"
	"sort"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// largestGap returns the widest stretch of the turn without a reading, degrees.
func largestGap(angle []float64) float64 {
	a := make([]float64, len(angle))
	for i, v := range angle {
		a[i] = stat.Wrap(v, 360)
	}
	sort.Float64s(a)
	gap := a[0] + 360 - a[len(a)-1]
	for i := 1; i < len(a); i++ {
		gap = math.Max(gap, a[i]-a[i-1])
	}
	return gap
}

// movement returns the full movement of the surface without a once-a-turn part,
// as one of no amplitude is none. What stands out and is not left out counts as
// read, for averaging or smoothing would hide what nobody knows to be wrong.
func (f *face) movement(tilt analysis.Harmonic) float64 {
	without := func(angle, value float64) float64 {
		return value - tilt.Amplitude*math.Cos((angle-tilt.PhaseDeg)*math.Pi/180)
	}
	angle, value := f.kept()
	for i, a := range angle {
		value[i] = without(a, value[i])
	}
	low, high := levels(angle, value, f.resolution)
	for i, v := range f.value {
		if f.spike[i] && !f.leftOut[i] {
			v = without(f.angle[i], v)
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	return high - low
}

// levels returns the lowest and the highest of the places, each averaged; of a
// dense surface smoothed.
func levels(angle, value []float64, resolution float64) (low, high float64) {
	if len(value) >= densePoints && analysis.DistinctAngles(angle) >= densePoints {
		surface, ok := plainSurface(angle, value, resolution)
		if !ok {
			surface = smoothSurface(angle, value)
		}
		return stat.Extremes(surface)
	}
	// Places read twice are averaged, for the surface has one height there; between
	// places nothing is made up.
	sum, count := make(map[int]float64), make(map[int]float64)
	for i, a := range angle {
		sum[place(a)] += value[i]
		count[place(a)]++
	}
	low, high = math.Inf(1), math.Inf(-1)
	for place, n := range count {
		low, high = math.Min(low, sum[place]/n), math.Max(high, sum[place]/n)
	}
	return low, high
}

// place numbers the tenths of a degree of a turn: what a marked wheel comes back
// to within.
func place(angle float64) int { return int(math.Round(stat.Wrap(angle, 360)*10)) % 3600 }

// plainSurface returns the surface each whole degree as four harmonics, when
// what they leave is no more than noise and the rounding of the display: then
// neither adds to the extremes.
func plainSurface(angle, value []float64, resolution float64) ([]float64, bool) {
	fit, err := analysis.FitHarmonics(angle, value, 1, 2, 3, 4)
	if err != nil {
		return nil, false
	}
	noise := stat.RobustSD(stat.Differences(fit.Residuals)) / math.Sqrt2
	// A quarter more than noise and rounding together: the shape has more to it.
	if fit.ResidualSD > 1.25*math.Hypot(noise, gum.Resolution(resolution)) {
		return nil, false
	}
	surface := make([]float64, 360)
	for deg := range surface {
		surface[deg] = fit.At(float64(deg))
	}
	return surface, true
}

// smoothSurface returns the surface each whole degree by local parabolas over
// 6° to either side, or as far as ten readings reach.
// Source: Cleveland 1979 (tricube weights).
func smoothSurface(angle, value []float64) []float64 {
	type reading struct{ a, v float64 }
	around := make([]reading, 0, 3*len(angle))
	for i, a := range angle {
		a = stat.Wrap(a, 360)
		around = append(around, reading{a - 360, value[i]}, reading{a, value[i]}, reading{a + 360, value[i]})
	}
	sort.Slice(around, func(i, j int) bool { return around[i].a < around[j].a })
	within := func(deg, reach float64) []reading {
		from := sort.Search(len(around), func(i int) bool { return around[i].a > deg-reach })
		to := sort.Search(len(around), func(i int) bool { return around[i].a >= deg+reach })
		return around[from:max(from, to)]
	}
	surface := make([]float64, 0, 360)
	for deg := 0.0; deg < 360; deg++ {
		reach := 6.0
		near := within(deg, reach)
		for len(near) < 10 && reach <= 40 { // ten readings tell a parabola from their noise
			reach *= 1.25
			near = within(deg, reach)
		}
		var s [5]float64
		var y [3]float64
		for _, q := range near {
			d := (q.a - deg) / reach
			w := 1 - math.Abs(d*d*d)
			w = w * w * w
			p := w
			for k := range s {
				s[k] += p
				if k < 3 {
					y[k] += p * q.v
				}
				p *= d
			}
		}
		if v, ok := parabolaAt0(s, y); ok {
			surface = append(surface, v)
		}
	}
	return surface
}

// parabolaAt0 returns the constant of the parabola with the given weighted
// sums of powers, by Cramer's rule.
func parabolaAt0(s [5]float64, y [3]float64) (float64, bool) {
	det := s[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(s[1]*s[4]-s[3]*s[2]) + s[2]*(s[1]*s[3]-s[2]*s[2])
	if !(det > 1e-9*s[0]*s[0]*s[0]) {
		return 0, false
	}
	top := y[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(y[1]*s[4]-s[3]*y[2]) + s[2]*(y[1]*s[3]-s[2]*y[2])
	return top / det, true
}
