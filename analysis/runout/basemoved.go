package runout

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// A drift is a straight creep of the base through the readings.
type drift struct {
	perTurn float64 // mm a turn
	u       float64 // its standard uncertainty
	known   bool    // the turns overlap enough to tell
}

// repeatedDrift compares readings at the same place, whole turns apart: there the
// surface drops out, and what is left is the base.
func (f *face) repeatedDrift() drift {
	first := make(map[int]int)
	var change []float64
	for i, a := range f.angle {
		if f.spike[i] {
			continue
		}
		j, seen := first[place(a)]
		if !seen {
			first[place(a)] = i
			continue
		}
		turns := cmp.Or(math.Round((a-f.angle[j])/360), 1) // 1: read again without counting the turn on
		change = append(change, (f.value[i]-f.value[j])/turns)
	}
	if len(change) == 0 {
		return drift{}
	}
	d := drift{perTurn: stat.Mean(change), known: true}
	if len(change) > 2 {
		d.u = stat.StdDev(change) / math.Sqrt(float64(len(change)))
	}
	return d
}

// level takes a known drift out of the readings.
func (f *face) level(d drift) {
	// Twice its uncertainty, or where one place alone was read again a twentieth of
	// the movement: less would add more than it takes away.
	low, high := stat.Extremes(f.value)
	if !d.known || math.Abs(d.perTurn) <= 2*d.u || (d.u == 0 && math.Abs(d.perTurn) < 0.05*(high-low)) {
		return
	}
	low, high = stat.Extremes(f.angle)
	if high-low < 300 {
		return // the same places again: order, not angle, carries the drift
	}
	value := make([]float64, len(f.value))
	for i, v := range f.value {
		value[i] = v - d.perTurn*(f.angle[i]-f.angle[0])/360
	}
	f.value = value
}

// judgeClosing names a base that moved: by a step, or by creeping.
func (r *Result) judgeClosing(f *face, d drift) {
	residual := math.Sqrt(stat.Square(r.ResidualSD)) // none where nothing is left to tell
	// A step speaks from a tenth of the movement on, if the display and the mean of
	// some ten readings on either side can show it; a fifth spoils the value.
	if f.continuous {
		at, size := f.step()
		if math.Abs(size) > math.Max(0.1*r.FIM, math.Max(2.5*f.resolution, 3*residual/math.Sqrt(10))) {
			r.fault(analysis.ZeroShift, analysis.ReadingStep.Of(size, stat.Wrap(at, 360)), math.Abs(size) > 0.2*r.FIM)
		}
		if !d.known {
			d = f.endDrift()
		}
	}
	low, high := stat.Extremes(f.angle)
	covered := math.Max(1, (high-low)/360)
	// A creep speaks beyond three standard uncertainties, one and a half counts and
	// a twelfth of the movement, these two over all that was covered.
	doubt := math.Max(3*d.u, math.Max(1.5*f.resolution, 0.08*r.FIM)/covered)
	if d.u == 0 {
		doubt = math.Max(doubt, 4*residual)
	}
	if d.known && !r.Refused && math.Abs(d.perTurn) > doubt {
		// In one turn a creep cannot be told from the shape: two fifths of the movement
		// leave no value.
		r.fault(analysis.BaseCreep, analysis.OffByTurn.Of(d.perTurn), covered < 1.25 && math.Abs(d.perTurn) > 0.4*r.FIM)
	}
}

// endDrift compares the end of a single continuous turn with its start.
func (f *face) endDrift() drift {
	angle, value := f.kept(f.value)
	n := len(angle)
	// A line through either end, not its mean: the surface goes on sloping there.
	k := min(max(6, n/36), n/3) // some ten degrees at either end
	a, ua := lineAt(angle[0], angle[:k], value[:k])
	b, ub := lineAt(angle[0]+360, angle[n-k:], value[n-k:])
	u := math.Hypot(ua, ub)
	return drift{perTurn: b - a, u: u, known: stat.Finite(u) && math.Abs(angle[n-1]-angle[0]-360) <= 45}
}

// lineAt returns the straight line through values at an angle and its standard
// uncertainty there; both are NaN where there is none.
func lineAt(at float64, angle, value []float64) (v, u float64) {
	columns := append(stat.Sinusoids(angle), slices.Clone(angle))
	floats.AddConst(-at, columns[1])
	b, us, rest, ok := stat.Weighted(columns, value, columns[0], math.Inf(1)) // each weighs one
	if !ok {
		return math.NaN(), math.NaN()
	}
	return b[0], us[0] * floats.Norm(rest, 2) / math.Sqrt(float64(len(rest)-2))
}

// step returns the largest sudden change of level that stays, seen in what the
// robust fit leaves, and where it is. A change that is undone within 25° is a
// bump.
func (f *face) step() (at, size float64) {
	angle, rest := f.kept(f.rest)
	n := len(rest)
	k := max(4, n/150) // medians of as many on either side bear two wild ones
	if n < 8*k {
		return 0, 0
	}
	jump := make([]float64, 0, n)
	for i := k; i+k < n; i++ {
		jump = append(jump, stat.Median(rest[i:i+k])-stat.Median(rest[i-k:i]))
	}
	// Six robust deviations: a step is the largest of some hundred jumps.
	limit := 6 * stat.NormalMAD * stat.MedianMagnitude(jump)
	for i, v := range jump {
		if math.Abs(v) > math.Max(limit, math.Abs(size)) && !undone(angle, jump, i, k) {
			at, size = angle[i+k], v
		}
	}
	return at, size
}

// undone reports whether the jump at i has an opposite one of more than half its
// size within 25°.
func undone(angle, jump []float64, i, k int) bool {
	for j := range jump {
		if math.Abs(angle[j+k]-angle[i+k]) < 25 && jump[j]*jump[i] < 0 && math.Abs(jump[j]) > math.Abs(jump[i])/2 {
			return true
		}
	}
	return false
}
