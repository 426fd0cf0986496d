package runout

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

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
	return floats.Max(append(stat.Differences(a), a[0]+360-a[len(a)-1]))
}

// A curve is a surface round the turn, and what is known of it.
type curve struct {
	height []float64
	knows  float64 // variance of its movement for unit scatter of the readings
	rest   float64 // scatter of the readings about it; NaN: not known
	noise  float64 // what of it neighbours do not share; 0: too few to tell
	dof    float64 // behind rest
}

// movement returns the full movement of the surface without a once-a-turn part,
// as one of no amplitude is none, and the curve it was taken from. What stands
// out and is not left out counts as read, for averaging or smoothing would hide
// what nobody knows to be wrong.
func (f *face) movement(tilt analysis.Harmonic, places int) (float64, curve) {
	without := func(angle, value float64) float64 {
		return value - tilt.Amplitude*math.Cos((angle-tilt.PhaseDeg)*math.Pi/180)
	}
	angle, value := f.kept(f.value)
	for i, a := range angle {
		value[i] = without(a, value[i])
	}
	c := surface(angle, value, places, f.resolution)
	var standing []float64
	for i, v := range f.value {
		if f.spike[i] && !f.leftOut[i] {
			standing = append(standing, without(f.angle[i], v))
		}
	}
	if len(standing) > 0 && places < densePoints {
		c.height = averaged(angle, value) // as read throughout
	}
	low, high := stat.Extremes(append(c.height, standing...))
	return high - low, c
}

// manyPlaces is from where on the noise of single readings makes the extremes of
// many, and neighbours are close enough to show it.
const manyPlaces = 16

// surface returns the shape that the readings are of. It is harmonics, which
// know what stands between the places: as many as leave four readings for each
// to show the scatter by. Fewer than manyPlaces count as read beside them, for
// less than the gauge showed nobody would believe; dense readings that have more
// to them are smoothed.
func surface(angle, value []float64, places int, resolution float64) curve {
	orders := []int{1, 2, 3, 4}
	if places < densePoints {
		orders = orders[:max(2, min(4, (places-1)/5))]
	}
	if places < analysis.MinimumForSecond {
		orders = orders[:1]
	}
	fit, err := analysis.FitHarmonics(angle, value, orders...)
	c := curve{rest: math.NaN(), dof: float64(len(value) - 1 - 2*len(orders))}
	if err != nil || places < manyPlaces {
		c.height = averaged(angle, value)
	}
	if err != nil {
		return c
	}
	c.rest = fit.ResidualSD
	if places >= manyPlaces {
		c.noise = whiteNoise(fit.Residuals)
	}
	if places >= densePoints && !plain(fit, resolution) {
		// Some 12° of readings stand behind each of the two levels.
		return curve{smoothSurface(angle, value), 60 / float64(len(value)), c.noise, c.noise, c.dof}
	}
	at := make([]float64, 360)
	for deg := range at {
		at[deg] = fit.At(float64(deg))
	}
	c.height = append(c.height, at...)
	c.knows = differenceVariance(angle, orders, float64(floats.MaxIdx(at)), float64(floats.MinIdx(at)))
	return c
}

// differenceVariance is the variance of the fit of harmonics at one angle less
// that at another, for unit scatter of the readings: gᵀ(XᵀX)⁻¹g, large where they lie
// in a stretch without any.
func differenceVariance(angle []float64, orders []int, one, other float64) float64 {
	rows := stat.Sinusoids(angle, orders...)
	x := mat.NewDense(len(rows), len(angle), nil)
	g := mat.NewVecDense(len(rows), nil)
	for j, c := range stat.Sinusoids([]float64{one, other}, orders...) {
		x.SetRow(j, rows[j])
		g.SetVec(j, c[0]-c[1])
	}
	var normal mat.Dense
	var solved mat.VecDense
	normal.Mul(x, x.T())
	if err := solved.SolveVec(&normal, g); err != nil {
		return math.Inf(1)
	}
	return mat.Dot(g, &solved)
}

// averaged returns the height of each place, for the surface has one there.
func averaged(angle, value []float64) []float64 {
	at := make(map[int][]float64)
	for i, a := range angle {
		at[place(a)] = append(at[place(a)], value[i])
	}
	var heights []float64
	for _, v := range at {
		heights = append(heights, stat.Mean(v))
	}
	return heights
}

// plain reports whether what four harmonics leave is no more than noise and the
// rounding of the display: then neither adds to the extremes.
func plain(fit analysis.HarmonicFit, resolution float64) bool {
	// A quarter more than noise and rounding together: the shape has more to it.
	return fit.ResidualSD <= 1.25*math.Hypot(whiteNoise(fit.Residuals), gum.Resolution(resolution))
}

// whiteNoise is the deviation of the part of x that neighbours do not share. The
// mean size of a difference of white noise is 2/√π of its deviation.
func whiteNoise(x []float64) float64 {
	return stat.Mean(stat.Magnitudes(stat.Differences(x))) * math.Sqrt(math.Pi) / 2
}

// place numbers the tenths of a degree of a turn: what a marked wheel comes back
// to within.
func place(angle float64) int { return int(math.Round(stat.Wrap(angle, 360)*10)) % 3600 }

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
		columns, value, weight := stat.Sinusoids(make([]float64, len(near)), 0), make([]float64, len(near)), make([]float64, len(near))
		for i, q := range near {
			d := (q.a - deg) / reach
			columns[1][i], columns[2][i] = d, d*d
			value[i], weight[i] = q.v, math.Pow(1-math.Abs(d*d*d), 3)
		}
		if b, _, _, ok := stat.Weighted(columns, value, weight, 1e4); ok {
			surface = append(surface, b[0])
		}
	}
	return surface
}
