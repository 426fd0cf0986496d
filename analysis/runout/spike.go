package runout

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// A Spike is a narrow high or low spot that was left out of the run-out.
type Spike struct {
	AngleDeg float64
	Value    float64 // the reading
	Height   float64 // above (+) or below (-) the surface round it
	Repeats  bool    // seen again at the same place a turn later: burr, paint or bruise; else dirt or a jerk
}

// partSpikes lists what stands out: as spikes, which stay out of the movement,
// or as readings in doubt, which stay in it.
func (r *Result) partSpikes(f *face, confirmed []int) {
	doubt := make([]bool, len(f.spike))
	f.leftOut = make([]bool, len(f.spike))
	for i, out := range f.spike {
		switch {
		case out && f.continuous && f.passedTwice(i):
			f.leftOut[i] = true
		case out && (f.continuous || !f.confirmed(i) && !slices.Contains(confirmed, f.index[i])):
			doubt[i] = true
			r.Doubtful, f.doubt = append(r.Doubtful, f.index[i]), math.Max(f.doubt, math.Abs(f.rest[i]))
		}
	}
	r.Spikes = f.listSpikes(f.leftOut)
	if n := len(r.Spikes); n > 0 {
		once := slices.DeleteFunc(slices.Clone(r.Spikes), func(s Spike) bool { return s.Repeats })
		r.Notes = append(r.Notes, analysis.SpikesAside.Of(float64(n), float64(n-len(once))))
	}
	standing := analysis.StandsOut
	if f.continuous {
		standing = analysis.StandsOutOnce
	}
	for _, s := range f.listSpikes(doubt) {
		r.Notes = append(r.Notes, standing.Of(s.AngleDeg, s.Height))
	}
}

// passedTwice reports whether the turning passes the place of reading i in
// another turn too.
func (f *face) passedTwice(i int) bool {
	return f.angle[i]-360 >= f.angle[0] || f.angle[i]+360 <= f.angle[len(f.angle)-1]
}

// confirmed reports whether another reading of the same place is off by much the
// same, half as much again or less: no slip of the hand or the pen does that, so
// the bump is there.
func (f *face) confirmed(i int) bool {
	for j, a := range f.angle {
		if j != i && place(a) == place(f.angle[i]) && math.Abs(f.value[j]-f.value[i]) <= math.Abs(f.rest[i])/2 {
			return true
		}
	}
	return false
}

// findSpikes marks narrow wild readings and returns the drift between turns. A
// creep of the base must not make the places read twice look like spikes, nor a
// spike at such a place like a creep: what leaves less scatter is believed.
func (f *face) findSpikes(places int) drift {
	f.spike = make([]bool, len(f.value))
	raw := f.value
	creep := f.repeatedDrift()
	// Over a continuous turn the robust fit takes the creep out by itself.
	if creep.known && !f.continuous {
		before := f.scatter(orders(places))
		// A fifth less scatter is more than a parameter more makes by chance.
		if f.level(creep); f.scatter(orders(places)) > 0.8*before {
			f.value = raw
		}
	}
	levelled := &raw[0] != &f.value[0]
	var d drift
	// The robust fit needs five places for each harmonic to see one bend it; with
	// fewer places each reading is tested against the others.
	switch {
	case places >= 12:
		d = f.robustSpikes(min(4, (places-1)/5))
	case len(f.value) > 48: // few places read over and over
		d = f.robustSpikes(orders(places))
	default:
		f.deletedSpikes(orders(places))
		f.rest = f.left(orders(places), f.sound(-1))
		d = f.repeatedDrift()
	}
	if levelled {
		f.value, d = raw, creep
	}
	return d
}

// left is what a fit of the harmonics, weighing each reading, leaves of all; nil where
// they cannot be told apart.
func (f *face) left(orders int, weights []float64) []float64 {
	_, _, rest, _ := stat.Weighted(f.design(orders, false), f.value, weights, worstCondition)
	return rest
}

// scatter is what a plain fit of the harmonics leaves, robustly.
func (f *face) scatter(orders int) float64 {
	rest := f.left(orders, f.sound(-1))
	if rest == nil {
		return math.Inf(1)
	}
	return stat.ResidualScale(rest, 1+2*orders)
}

// sound weighs what stands out 0, and the place of reading i (-1: none), the others 1.
func (f *face) sound(i int) []float64 {
	weights := make([]float64, len(f.value))
	for j := range weights {
		if !f.spike[j] && (i < 0 || place(f.angle[j]) != place(f.angle[i])) {
			weights[j] = 1
		}
	}
	return weights
}

// finest is the least scatter that counts: a third of a step of the display, or
// a millionth of the movement for readings that are not rounded.
func (f *face) finest() float64 {
	low, high := stat.Extremes(f.value)
	return math.Max(0.3*f.resolution, 1e-6*(high-low))
}

// orders is how many harmonics few places can carry.
func orders(places int) int {
	if places >= analysis.MinimumForSecond {
		return 2
	}
	return 1
}

// worstCondition is beyond what harmonics that can be told apart come to, however
// the readings are weighed.
const worstCondition = 1e7

// design returns the columns of a fit: constant, harmonics 1 to orders, and the
// angle as a drift where the turns overlap.
func (f *face) design(orders int, withDrift bool) [][]float64 {
	columns := stat.Sinusoids(f.angle, []int{1, 2, 3, 4}[:orders]...)
	if withDrift {
		d := make([]float64, len(f.angle))
		low, high := stat.Extremes(f.angle)
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
	low, high := stat.Extremes(f.angle)
	overlap := high-low > 450 // a quarter of a turn twice over tells a drift from the shape
	columns := f.design(orders, overlap)
	weights := slices.Clone(columns[0]) // ones
	var rest []float64
	var b, u []float64
	scale := 0.0
	for pass := range 30 {
		var ok bool
		b, u, rest, ok = stat.Weighted(columns, f.value, weights, worstCondition)
		if !ok {
			return drift{}
		}
		before := scale
		scale = math.Max(stat.ResidualScale(rest, len(columns)), f.finest())
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
	// One sound reading in a hundred faces is marked by chance; half as much again
	// for noise that is not normal, and no flip of three counts is a spike.
	limit := math.Max(1.5*scale*gum.CoverageFactor(1-0.01/n, math.Max(1, n-float64(len(columns)))), 3*f.resolution)
	for i, r := range rest {
		f.spike[i] = math.Abs(r) > limit
	}
	f.keepNarrow(rest)
	if !overlap {
		return f.repeatedDrift()
	}
	return drift{perTurn: b[len(b)-1], u: scale * u[len(u)-1], known: true}
}

// keepNarrow takes back the mark from stretches of marked readings wider than
// 20°, unless it is a single reading.
func (f *face) keepNarrow(rest []float64) {
	const widest = 20 // degrees: a burr or a chip is narrower, a bend of the face wider
	for i := 0; i < len(f.spike); i++ {
		if !f.spike[i] {
			continue
		}
		j := i
		for j+1 < len(f.spike) && f.spike[j+1] && rest[j+1]*rest[i] > 0 {
			j++
		}
		if math.Abs(f.angle[j]-f.angle[i]) > widest {
			clear(f.spike[i : j+1])
		}
		i = j
	}
}

// deletedSpikes tests, with few places, each reading against a fit to the
// others: the externally studentised residual with a Bonferroni limit of 2 %.
// Source: Cook and Weisberg 1982, 2.2.2.
func (f *face) deletedSpikes(orders int) {
	for range max(1, len(f.value)/8) { // more than one in eight are no exceptions
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
		for i := range f.value { // a bump read twice bends the fit twice
			if t, limit := f.deletedT(i, orders); i == worst || place(f.angle[i]) == place(f.angle[worst]) && math.Abs(t) > limit {
				f.spike[i] = true
			}
		}
	}
}

// deletedT returns the studentised residual of reading i from a fit without its
// place, which it must not bend even if read twice, and the limit to exceed.
func (f *face) deletedT(i, orders int) (t, limit float64) {
	weights := f.sound(i)
	n := floats.Sum(weights)
	dof := n - float64(1+2*orders)
	rest := f.left(orders, weights)
	if dof < 2 || rest == nil { // the others do not tell their own scatter
		return 0, math.Inf(1)
	}
	rss := 0.0
	for j, r := range rest {
		rss += weights[j] * r * r
	}
	sd := math.Max(math.Sqrt(rss/dof), f.finest())
	if sd == 0 || math.Abs(rest[i]) < 3*f.resolution { // three counts are the display's
		return 0, math.Inf(1)
	}
	return rest[i] / sd, gum.CoverageFactor(1-0.02/(n+1), dof)
}

// kept returns what x, the readings or what a fit leaves of them, has without the
// spikes, and its angles: what every fit and level is made of.
func (f *face) kept(x []float64) (angle, kept []float64) {
	for i, v := range x {
		if !f.spike[i] {
			angle, kept = append(angle, f.angle[i]), append(kept, v)
		}
	}
	return angle, kept
}

// listSpikes gathers neighbouring marked readings into spikes, and spikes at
// the same place in different turns into one that repeats.
func (f *face) listSpikes(marked []bool) []Spike {
	spikes := []Spike{}
	for i := 0; i < len(marked); i++ {
		if !marked[i] {
			continue
		}
		top := i
		for ; i+1 < len(marked) && marked[i+1] && math.Abs(f.angle[i+1]-f.angle[i]) < 5; i++ {
			if math.Abs(f.rest[i+1]) > math.Abs(f.rest[top]) {
				top = i + 1
			}
		}
		spikes = joinSpike(spikes, Spike{AngleDeg: stat.Wrap(f.angle[top], 360), Value: f.value[top], Height: f.rest[top]})
	}
	return spikes
}

// joinSpike adds a spike to the list, or marks one of the same sign at the same
// place as seen again: the higher of the two readings stays.
func joinSpike(spikes []Spike, s Spike) []Spike {
	for i, q := range spikes {
		// The pace of a hand carries a place by a few degrees from turn to turn.
		apart := math.Abs(stat.Wrap(q.AngleDeg-s.AngleDeg+180, 360) - 180)
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
