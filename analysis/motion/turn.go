// Package motion tells what a trace shows of the hand behind it, whatever is
// measured: standing still, turning at a steady pace, lifting the plunger.
package motion

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// A TurnFit is what FindTurn made of a trace of steady turning.
type TurnFit struct {
	Period    float64 // seconds a turn; the whole trace when just one turn is in it
	Turns     float64 // span over period
	Explained float64 // share of the variance that four harmonics of the turn explain
}

const (
	turnHarmonics = 4
	columns       = 2 + 2*turnHarmonics // of a fit: constant, drift, cosines and sines
	turnPoints    = 480                 // the trace is brought down to this many for the search
	maxTurns      = 24
	OneTurn       = 1.12 // fewer turns than this are taken as one, not quite closed
)

// FindTurn finds how long a turn takes in a trace whose values repeat every
// turn. It fits a constant, a drift and four harmonics for each period that
// the trace could hold and takes the shortest period that explains the trace
// as well as any: twice the period would do so too. A trace that repeats
// nowhere within itself is one turn.
func FindTurn(s []analysis.Sample) TurnFit {
	whole := analysis.Span(s)
	one := TurnFit{Period: whole, Turns: 1}
	if len(s) < 3*turnHarmonics || !(whole > 0) {
		return one
	}
	search := Packed(s, turnPoints)
	t, x := analysis.Times(search), analysis.Values(search)
	variance := stat.StdDev(x) * stat.StdDev(x) * float64(len(x)-1)
	if !(variance > 0) {
		return one
	}
	if n := float64(len(s)) / float64(len(s)-1); n < 1.5 {
		one.Period = whole * n // the last reading stops one interval short of closing
	}
	left := func(rate float64) float64 { return turnRSS(t, x, whole/rate, rate) }
	rates, rss := scanned(left, math.Min(maxTurns, float64(len(t))/(3*turnHarmonics)))
	// Forty is what nine parameters more or less are worth by chance, with
	// room for noise that is not white; and rounding to the display explains
	// nothing.
	rounding := stat.Square(gum.Resolution(stat.DisplayStep(analysis.Values(s)))) * float64(len(x))
	limit := math.Max(slices.Min(rss)*(1+40/float64(len(x))), 1.3*rounding) + 1e-9*variance
	best := len(rss) - 1
	for rss[best] > limit {
		best--
	}
	for best > 0 && rss[best-1] < rss[best] { // to the bottom of this dip
		best--
	}
	best = overtone(rates, rss, best, variance)
	if rates[best] < OneTurn || !slices.ContainsFunc(rss[:best], func(r float64) bool { return r > limit }) {
		// No other number of turns, or every one from one turn up to this
		// explains the trace as well: then nothing says that it is more.
		one.Explained = 1 - left(whole/one.Period)/variance
		return one
	}
	return TurnFit{Period: whole / rates[best], Turns: rates[best], Explained: 1 - rss[best]/variance}
}

// Turning finds the turn in s, without the rests before and after it. A rest of
// less than a fifth of the trace goes only where turns that repeat fit clearly
// better without it: at a high or low spot a slow turn looks like a rest too,
// and a single turn must not lose its ends.
func Turning(s []analysis.Sample, step float64) ([]analysis.Sample, TurnFit) {
	const fewest = 3 * turnHarmonics
	from, to := rests(s, step)
	first, last := 0, len(s)
	for range 2 { // a long rest at one end hides how long the other is
		fifth := analysis.Span(s[first:last]) / 5
		if from > 0 && s[from].T-s[0].T > fifth {
			first = from
		}
		if to < len(s) && s[len(s)-1].T-s[to].T > fifth {
			last = to
		}
		if last-first < fewest {
			return s, FindTurn(calmed(s, step))
		}
	}
	fit := FindTurn(calmed(s[first:last], step))
	for _, ends := range [][2]int{{from, last}, {first, to}, {from, to}} {
		if ends[0] == first && ends[1] == last || ends[1]-ends[0] < fewest {
			continue
		}
		part := s[ends[0]:ends[1]]
		if f := FindTurn(calmed(part, step)); f.Turns > 1 && f.left(part) < fit.left(s[first:last])/2 {
			first, last, fit = ends[0], ends[1], f
		}
	}
	return s[first:last], fit
}

// left is the variance of s that the fit does not explain.
func (f TurnFit) left(s []analysis.Sample) float64 {
	return (1 - f.Explained) * stat.Square(stat.StdDev(analysis.Values(s)))
}

// overtone returns the dip at twice or three times the rate of the best one
// when it leaves little more and still explains nine tenths: a longer period
// has harmonics to spare for what an uneven hand does to the shape.
func overtone(rates, rss []float64, best int, variance float64) int {
	found := best
	for i := best + 1; i+1 < len(rss); i++ {
		ratio := rates[i] / rates[best]
		whole := math.Round(ratio)
		dip := rss[i] <= rss[i-1] && rss[i] <= rss[i+1]
		if dip && whole >= 2 && math.Abs(ratio-whole) < 0.02*whole && rss[i] < 4*rss[best] && rss[i] < 0.1*variance {
			found = i
		}
	}
	return found
}

// scanned evaluates what is left for one turn up to most turns, in steps of a
// fiftieth, with every deep dip between the steps followed to its bottom: that of a
// parabola through three neighbours, twice, the second a twentieth as wide.
func scanned(left func(rate float64) float64, most float64) (rates, rss []float64) {
	const step = 0.02
	for rate := 1.0; rate <= most; rate += step {
		rates, rss = append(rates, rate), append(rss, left(rate))
	}
	deep := slices.Min(rss)*20 + 1e-300
	for i := 1; i+1 < len(rss); i++ {
		if rss[i] <= rss[i-1] && rss[i] <= rss[i+1] && rss[i] <= deep {
			for _, h := range []float64{step, step / 20} {
				before, after := left(rates[i]-h), left(rates[i]+h)
				if bend := before - 2*rss[i] + after; bend > 0 {
					rates[i] += math.Max(-h, math.Min(h, h/2*(before-after)/bend))
					rss[i] = left(rates[i])
				}
			}
		}
	}
	return rates, rss
}

// turnRSS returns what a constant, the harmonics of a period and, where turns
// overlap well, a drift leave. The normal equations serve here: the columns are
// near orthogonal.
func turnRSS(t, x []float64, period, turns float64) float64 {
	var a [columns * columns]float64
	var row, right [columns]float64
	middle, half := (t[0]+t[len(t)-1])/2, (t[len(t)-1]-t[0])/2
	total := 0.0
	for i := range t {
		row[0], row[1] = 1, 0
		if turns > 1.6 {
			row[1] = (t[i] - middle) / half
		}
		s1, c1 := math.Sincos(2 * math.Pi * (t[i] - middle) / period)
		s, c := s1, c1
		for k := range turnHarmonics {
			row[2+2*k], row[3+2*k] = c, s
			s, c = s*c1+c*s1, c*c1-s*s1
		}
		y := x[i] - x[0]
		total += y * y
		for r := range columns {
			right[r] += row[r] * y
			for q := r; q < columns; q++ {
				a[r*columns+q] += row[r] * row[q]
			}
		}
	}
	for r := range columns { // a column without anything in it stands alone
		a[r*columns+r] += 1e-13 * float64(len(t))
	}
	var solver mat.Cholesky
	var b mat.VecDense
	y := mat.NewVecDense(columns, right[:])
	if !solver.Factorize(mat.NewSymDense(columns, a[:])) || solver.SolveVecTo(&b, y) != nil {
		return total
	}
	return total - mat.Dot(&b, y)
}
