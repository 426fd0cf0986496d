package analysis

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// moving cuts off readings at rest before and after the turning: a stretch of
// a fifth of the trace or more that stays within the noise and two steps of
// the display.
func moving(s []Sample, step float64) []Sample {
	x := values(s)
	noise := robustSD(differences(x)) / math.Sqrt2
	low, high := extremes(x)
	room := math.Max(2.1*step, 5*noise)
	if room > (high-low)/8 {
		return s
	}
	from, to := 0, len(s)
	if n := restLength(x, room); n > 0 && s[n].T-s[0].T > 0.2*span(s) {
		from = n
	}
	back := slices.Clone(x)
	slices.Reverse(back)
	if n := restLength(back, room); n > 0 && s[len(s)-1].T-s[len(s)-1-n].T > 0.2*span(s) {
		to = len(s) - n
	}
	if to-from < 12 {
		return s
	}
	return s[from:to]
}

// restLength returns how many of the first values stay within room.
func restLength(x []float64, room float64) int {
	low, high := x[0], x[0]
	for i, v := range x {
		low, high = math.Min(low, v), math.Max(high, v)
		if high-low > room {
			return i
		}
	}
	return len(x) - 1
}

// calmed replaces single wild readings, three in a row at most, by the median
// of those around, so that they do not count in the search for the turn.
// Source: Hampel filter, 6 robust deviations.
func calmed(s []Sample, step float64) []Sample {
	const reach = 3
	around := make([]float64, len(s))
	off := make([]float64, len(s))
	x := values(s)
	for i := range s {
		around[i] = Median(x[max(0, i-reach):min(len(s), i+reach+1)])
		off[i] = x[i] - around[i]
	}
	limit := math.Max(6*robustSD(off), 3*step)
	calm := slices.Clone(s)
	for i, d := range off {
		if math.Abs(d) > limit {
			calm[i].X = around[i]
		}
	}
	return calm
}

// packed brings a trace down to n readings at most, each the median of its
// share.
func packed(s []Sample, n int) []Sample {
	each := (len(s) + n - 1) / n
	if each <= 1 {
		return s
	}
	var p []Sample
	for i := 0; i < len(s); i += each {
		part := s[i:min(i+each, len(s))]
		p = append(p, Sample{Mean(times(part)), Median(values(part))})
	}
	return p
}

// largestGap returns the widest stretch of the turn without a reading, degrees.
func largestGap(angle []float64) float64 {
	a := make([]float64, len(angle))
	for i, v := range angle {
		a[i] = wrap(v, 360)
	}
	sort.Float64s(a)
	gap := a[0] + 360 - a[len(a)-1]
	for i := 1; i < len(a); i++ {
		gap = math.Max(gap, a[i]-a[i-1])
	}
	return gap
}

// A drift is a straight creep of the base through the readings.
type drift struct {
	perTurn float64 // mm a turn
	u       float64 // its standard uncertainty
	known   bool    // the turns overlap enough to tell
}

// findSpikes marks narrow wild readings and returns the drift between turns.
func (f *face) findSpikes(places int) drift {
	f.spike = make([]bool, len(f.value))
	switch {
	case places >= 12:
		return f.robustSpikes(min(4, (places-1)/5))
	case len(f.value) > 48: // few places read over and over
		return f.robustSpikes(orders(places))
	}
	f.deletedSpikes(orders(places))
	return f.repeatedDrift()
}

// orders is how many harmonics few places can carry.
func orders(places int) int {
	if places >= minimumForSecond {
		return 2
	}
	return 1
}

// design returns the columns of a fit: constant, harmonics 1 to orders, and the
// angle as a drift where the turns overlap.
func (f *face) design(orders int, withDrift bool) [][]float64 {
	n := len(f.value)
	columns := make([][]float64, 0, 2+2*orders)
	one := make([]float64, n)
	for i := range one {
		one[i] = 1
	}
	columns = append(columns, one)
	for k := 1; k <= orders; k++ {
		c, s := make([]float64, n), make([]float64, n)
		for i, a := range f.angle {
			s[i], c[i] = math.Sincos(float64(k) * a * math.Pi / 180)
		}
		columns = append(columns, c, s)
	}
	if withDrift {
		d := make([]float64, n)
		low, high := extremes(f.angle)
		for i, a := range f.angle {
			d[i] = (a - (low+high)/2) / 360
		}
		columns = append(columns, d)
	}
	return columns
}

// robustSpikes fits harmonics with Tukey's bisquare weights and marks readings
// far outside the scatter. Stretches wider than 20° are surface, not spikes.
// Source: Tukey's biweight, tuning 4.685; scale by the median absolute residual.
func (f *face) robustSpikes(orders int) drift {
	low, high := extremes(f.angle)
	overlap := high-low > 450
	columns := f.design(orders, overlap)
	weights := make([]float64, len(f.value))
	for i := range weights {
		weights[i] = 1
	}
	var rest []float64
	var b, u []float64
	scale := 0.0
	for pass := range 30 {
		var ok bool
		b, u, rest, ok = weighted(columns, f.value, weights)
		if !ok {
			return drift{}
		}
		before := scale
		scale = math.Max(residualScale(rest, len(columns)), 0.3*f.resolution)
		if scale == 0 || (pass > 12 && math.Abs(scale-before) < 1e-4*scale) {
			break
		}
		for i, r := range rest {
			if pass < 6 { // least absolute residuals first: no start can be fooled
				weights[i] = 1 / math.Max(math.Abs(r), 0.1*scale)
				continue
			}
			v := r / (4.685 * scale)
			weights[i] = 0
			if math.Abs(v) < 1 {
				weights[i] = (1 - v*v) * (1 - v*v)
			}
		}
	}
	f.rest = rest
	n := float64(len(rest))
	limit := math.Max(1.5*scale*CoverageFactor(1-0.01/n, math.Max(1, n-float64(len(columns)))), 3*f.resolution)
	for i, r := range rest {
		f.spike[i] = math.Abs(r) > limit
	}
	f.keepNarrow(rest)
	if !overlap {
		return f.repeatedDrift()
	}
	return drift{perTurn: b[len(b)-1], u: scale * u[len(u)-1], known: true}
}

// residualScale is the scatter of the residuals of a robust fit: the median of
// their magnitudes, the ones that the fit's parameters make vanish left out.
func residualScale(rest []float64, parameters int) float64 {
	m := make([]float64, len(rest))
	for i, v := range rest {
		m[i] = math.Abs(v)
	}
	slices.Sort(m)
	return 1.4826 * sortedQuantile(m[min(parameters-1, len(m)-1):], 0.5)
}

// medianMagnitude returns the median of |x|.
func medianMagnitude(x []float64) float64 {
	m := make([]float64, len(x))
	for i, v := range x {
		m[i] = math.Abs(v)
	}
	return Median(m)
}

// keepNarrow takes back the mark from stretches of marked readings wider than
// 20°, unless it is a single reading.
func (f *face) keepNarrow(rest []float64) {
	const widest = 20
	for i := 0; i < len(f.spike); i++ {
		if !f.spike[i] {
			continue
		}
		j := i
		for j+1 < len(f.spike) && f.spike[j+1] && rest[j+1]*rest[i] > 0 {
			j++
		}
		if math.Abs(f.angle[j]-f.angle[i]) > widest {
			for k := i; k <= j; k++ {
				f.spike[k] = false
			}
		}
		i = j
	}
}

// deletedSpikes tests, with few places, each reading against a fit to the
// others: the externally studentised residual with a Bonferroni limit of 2 %.
// Source: Cook and Weisberg 1982, 2.2.2.
func (f *face) deletedSpikes(orders int) {
	for range max(1, len(f.value)/8) {
		worst, worstT := -1, 0.0
		for i := range f.value {
			if f.spike[i] {
				continue
			}
			if t, limit := f.deletedT(i, orders); math.Abs(t) > limit && math.Abs(t) > math.Abs(worstT) {
				worst, worstT = i, t
			}
		}
		if worst < 0 {
			return
		}
		f.spike[worst] = true
	}
}

// deletedT returns the studentised residual of reading i from a fit without it
// and the limit it must exceed.
func (f *face) deletedT(i, orders int) (t, limit float64) {
	weights := make([]float64, len(f.value))
	n := 0
	for j := range weights {
		if j != i && !f.spike[j] {
			weights[j] = 1
			n++
		}
	}
	columns := f.design(orders, false)
	dof := n - len(columns)
	if dof < 2 {
		return 0, math.Inf(1)
	}
	_, _, rest, ok := weighted(columns, f.value, weights)
	if !ok {
		return 0, math.Inf(1)
	}
	rss := 0.0
	for j, r := range rest {
		rss += weights[j] * r * r
	}
	sd := math.Max(math.Sqrt(rss/float64(dof)), 0.3*f.resolution)
	if sd == 0 || math.Abs(rest[i]) < 3*f.resolution {
		return 0, math.Inf(1)
	}
	return rest[i] / sd, CoverageFactor(1-0.02/float64(n+1), float64(dof))
}

// weighted solves weighted least squares and returns the coefficients, their
// standard uncertainties for unit scatter, and the residuals of all rows.
func weighted(columns [][]float64, y, weights []float64) (b, u, rest []float64, ok bool) {
	n, m := len(y), len(columns)
	if n < m {
		return nil, nil, nil, false
	}
	a, right := mat.NewDense(n, m, nil), mat.NewVecDense(n, nil)
	for i := range n {
		w := math.Sqrt(weights[i])
		for j := range m {
			a.Set(i, j, w*columns[j][i])
		}
		right.SetVec(i, w*(y[i]-y[0]))
	}
	var qr mat.QR
	qr.Factorize(a)
	if c := qr.Cond(); math.IsNaN(c) || c > 1e7 {
		return nil, nil, nil, false
	}
	var solution mat.VecDense
	if err := qr.SolveVecTo(&solution, false, right); err != nil {
		return nil, nil, nil, false
	}
	b, u, rest = make([]float64, m), make([]float64, m), make([]float64, n)
	var r, inverse mat.Dense
	qr.RTo(&r)
	if err := inverse.Inverse(r.Slice(0, m, 0, m)); err != nil {
		return nil, nil, nil, false
	}
	for j := range m {
		b[j] = solution.AtVec(j)
		for k := j; k < m; k++ {
			u[j] = math.Hypot(u[j], inverse.At(j, k))
		}
	}
	for i := range n {
		rest[i] = y[i] - y[0]
		for j := range m {
			rest[i] -= b[j] * columns[j][i]
		}
	}
	b[0] += y[0]
	return b, u, rest, true
}

// repeatedDrift compares readings at the same place, whole turns apart.
func (f *face) repeatedDrift() drift {
	first := make(map[int]int)
	var change []float64
	for i, a := range f.angle {
		if f.spike[i] {
			continue
		}
		place := int(math.Round(wrap(a, 360)*10)) % 3600
		j, seen := first[place]
		if !seen {
			first[place] = i
			continue
		}
		turns := math.Round((a - f.angle[j]) / 360)
		if turns == 0 {
			turns = 1 // read again without counting the turn on
		}
		change = append(change, (f.value[i]-f.value[j])/turns)
	}
	if len(change) == 0 {
		return drift{}
	}
	d := drift{perTurn: Mean(change), known: true}
	if len(change) > 2 {
		d.u = StdDev(change) / math.Sqrt(float64(len(change)))
	}
	return d
}

// level takes a known drift out of the readings.
func (f *face) level(d drift) {
	if !d.known || math.Abs(d.perTurn) <= 2*d.u {
		return
	}
	low, high := extremes(f.angle)
	if high-low < 300 {
		return // the same places again: order, not angle, carries the drift
	}
	value := make([]float64, len(f.value))
	for i, v := range f.value {
		value[i] = v - d.perTurn*(f.angle[i]-f.angle[0])/360
	}
	f.value = value
}

// kept returns the readings that are not spikes.
func (f *face) kept() (angle, value []float64) {
	for i := range f.value {
		if !f.spike[i] {
			angle, value = append(angle, f.angle[i]), append(value, f.value[i])
		}
	}
	return angle, value
}

// listSpikes gathers neighbouring marked readings into spikes, and spikes at
// the same place in different turns into one that repeats.
func (f *face) listSpikes() []Spike {
	spikes := []Spike{}
	angle, value := f.kept()
	for i := 0; i < len(f.spike); i++ {
		if !f.spike[i] {
			continue
		}
		j, top := i, i
		ground := nearby(angle, value, f.angle[i])
		for ; j+1 < len(f.spike) && f.spike[j+1] && math.Abs(f.angle[j+1]-f.angle[j]) < 5; j++ {
			if math.Abs(f.value[j+1]-ground) > math.Abs(f.value[top]-ground) {
				top = j + 1
			}
		}
		spikes = joinSpike(spikes, Spike{AngleDeg: wrap(f.angle[top], 360), Value: f.value[top], Height: f.value[top] - ground})
		i = j
	}
	return spikes
}

func joinSpike(spikes []Spike, s Spike) []Spike {
	for i, q := range spikes {
		apart := math.Abs(wrap(q.AngleDeg-s.AngleDeg+180, 360) - 180)
		if apart < 4 && q.Height*s.Height > 0 {
			spikes[i].Repeats = true
			if math.Abs(s.Height) > math.Abs(q.Height) {
				spikes[i].Value, spikes[i].Height = s.Value, s.Height
			}
			return spikes
		}
	}
	return append(spikes, s)
}

// nearby returns the median of the kept readings nearest to an angle.
func nearby(angle, value []float64, at float64) float64 {
	if len(angle) <= 24 {
		if fit, err := FitHarmonics(angle, value, 1); err == nil {
			return fit.At(at)
		}
	}
	for reach := 3.0; reach < 360; reach *= 2 {
		var near []float64
		for i, a := range angle {
			if math.Abs(wrap(a-at+180, 360)-180) <= reach {
				near = append(near, value[i])
			}
		}
		if len(near) >= 4 {
			return Median(near)
		}
	}
	return Median(value)
}

// fim returns the full movement of the surface: largest less smallest of the
// places, each averaged; of a dense surface smoothed.
func fim(angle, value []float64, resolution float64) float64 {
	if len(value) >= densePoints && distinctAngles(angle) >= densePoints {
		surface, ok := plainSurface(angle, value, resolution)
		if !ok {
			surface = smoothSurface(angle, value)
		}
		low, high := extremes(surface)
		return high - low
	}
	sum, count := make(map[int]float64), make(map[int]float64)
	for i, a := range angle {
		place := int(math.Round(wrap(a, 360)*10)) % 3600
		sum[place] += value[i]
		count[place]++
	}
	low, high := math.Inf(1), math.Inf(-1)
	for place, n := range count {
		low, high = math.Min(low, sum[place]/n), math.Max(high, sum[place]/n)
	}
	return high - low
}

// plainSurface returns the surface each whole degree as four harmonics, when
// what they leave is no more than noise and the rounding of the display: then
// neither adds to the extremes.
func plainSurface(angle, value []float64, resolution float64) ([]float64, bool) {
	fit, err := FitHarmonics(angle, value, 1, 2, 3, 4)
	if err != nil {
		return nil, false
	}
	noise := robustSD(differences(fit.Residuals)) / math.Sqrt2
	if fit.ResidualSD > 1.25*math.Hypot(noise, Resolution(resolution)) {
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
		a = wrap(a, 360)
		around = append(around, reading{a - 360, value[i]}, reading{a, value[i]}, reading{a + 360, value[i]})
	}
	sort.Slice(around, func(i, j int) bool { return around[i].a < around[j].a })
	surface := make([]float64, 0, 360)
	from, to := 0, 0
	for deg := 0.0; deg < 360; deg++ {
		reach := 6.0
		for {
			for from > 0 && around[from-1].a > deg-reach {
				from--
			}
			for from < len(around) && around[from].a <= deg-reach {
				from++
			}
			to = max(to, from)
			for to < len(around) && around[to].a < deg+reach {
				to++
			}
			for to > from && around[to-1].a >= deg+reach {
				to--
			}
			if to-from >= 10 || reach > 40 {
				break
			}
			reach *= 1.25
		}
		var s [5]float64
		var y [3]float64
		for _, q := range around[from:to] {
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

// judgeClosing names a base that moved: by a step, or by creeping.
func (r *Runout) judgeClosing(f *face, d drift) {
	residual := r.ResidualSD
	if !finite(residual) {
		residual = 0
	}
	if f.continuous {
		if at, size := f.step(); math.Abs(size) > math.Max(0.1*r.FIM, math.Max(2.5*f.resolution, 3*residual/math.Sqrt(10))) {
			why := fmt.Sprintf("the reading stepped by %.3f mm at %.0f°: zero pressed, gauge bumped or base knocked", size, wrap(at, 360))
			if math.Abs(size) > 0.2*r.FIM {
				*r = r.refuse(ZeroShift, why)
				return
			}
			r.addFault(ZeroShift, why)
		}
	}
	if !d.known && f.continuous {
		d = f.endDrift()
	}
	if !d.known {
		return
	}
	r.Closing = d.perTurn
	low, high := extremes(f.angle)
	covered := math.Max(1, (high-low)/360)
	doubt := math.Max(3*d.u, math.Max(1.5*f.resolution, 0.08*r.FIM)/covered)
	if d.u == 0 {
		doubt = math.Max(doubt, 4*residual)
	}
	if math.Abs(d.perTurn) <= doubt {
		return
	}
	why := fmt.Sprintf("a turn later the reading is %.3f mm off: the base moved, or a bearing is not seated", d.perTurn)
	if covered < 1.25 && math.Abs(d.perTurn) > 0.4*r.FIM {
		*r = r.refuse(BaseCreep, why)
		return
	}
	r.addFault(BaseCreep, why)
}

// endDrift compares the end of a single continuous turn with its start.
func (f *face) endDrift() drift {
	angle, value := f.kept()
	n := len(angle)
	k := min(max(6, n/36), n/3)
	head, err1 := LinearFit(angle[:k], value[:k])
	tail, err2 := LinearFit(angle[n-k:], value[n-k:])
	if err1 != nil || err2 != nil || math.Abs(angle[n-1]-angle[0]-360) > 45 {
		return drift{}
	}
	a, ua := head.At(angle[0])
	b, ub := tail.At(angle[0] + 360)
	return drift{perTurn: b - a, u: math.Hypot(ua, ub), known: finite(ua) && finite(ub)}
}

// step returns the largest sudden change of level that stays, seen in what the
// robust fit leaves, and where it is. A change that is undone within 25° is a
// bump.
func (f *face) step() (at, size float64) {
	var angle, rest []float64
	for i, r := range f.rest {
		if !f.spike[i] {
			angle, rest = append(angle, f.angle[i]), append(rest, r)
		}
	}
	n := len(rest)
	k := max(4, n/150)
	if n < 8*k {
		return 0, 0
	}
	jump := make([]float64, 0, n)
	for i := k; i+k < n; i++ {
		jump = append(jump, Median(rest[i:i+k])-Median(rest[i-k:i]))
	}
	limit := 6 * 1.4826 * medianMagnitude(jump)
	for i, v := range jump {
		if math.Abs(v) <= limit || math.Abs(v) <= math.Abs(size) || undone(angle, jump, i, k) {
			continue
		}
		at, size = angle[i+k], v
	}
	return at, size
}

// undone reports whether the jump at i has an opposite one of half its size or
// more within 25°.
func undone(angle, jump []float64, i, k int) bool {
	for j := range jump {
		if math.Abs(angle[j+k]-angle[i+k]) < 25 && jump[j]*jump[i] < 0 && math.Abs(jump[j]) > math.Abs(jump[i])/2 {
			return true
		}
	}
	return false
}
