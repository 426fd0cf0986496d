package analysis

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// judgeSpread decides whether the difference between the largest and the
// smallest of a round of two points or more proves that what they measure spreads by no more than
// limit, or by more. The two ways differ: the largest and the smallest of n
// readings lie further apart than what they measure, for each is partly where
// it is by its error. Conformity is proven by a spread at least 1.65·√2·u below
// the limit; the opposite by one above it by more than the range of n errors,
// which is below q·u with 95 % probability (q: SpreadFactor). Between them it is
// too close to call. u is SpreadU: what is common to a round moves the largest and
// the smallest alike. Without a limit or a known u the verdict is NotDecided. The
// Probability given is that of one value, not of a spread.
// Sources: ISO 14253-1:2017; the bias bound is own derivation from the range of
// normal errors, whatever the true values.
func (r *Round) judgeSpread(limit float64) gum.Decision {
	d := gum.Judge(r.Spread, math.Sqrt2*r.SpreadU, gum.Limits{Lower: math.NaN(), Upper: limit})
	if d.Verdict == gum.Outside && !gum.Below(limit+SpreadFactor(r.N)*r.SpreadU, r.Spread) {
		d.Verdict = gum.TooClose
	}
	return d
}

// differingU is the root mean square of what lets the points of one round differ:
// of those whose parts are known their own and what one hand differs by, of the
// others all of their standard uncertainty. It is NaN where one is not known.
func differingU(points []RoundPoint) float64 {
	sum := 0.0
	for _, p := range points {
		if !(p.U > 0) {
			return math.NaN()
		}
		own := p.U * p.U
		if p.Hand > 0 && p.Random > 0 {
			own = math.Min(own, p.Random*p.Random+stat.Square(handDiffers*p.Hand))
		}
		sum += own
	}
	return math.Sqrt(sum / float64(len(points)))
}

// SpreadFactor returns the range, in standard deviations, that n normal errors
// stay within with 95 % probability: the upper 5 % point of the studentized
// range for known deviation, with
//
//	P(range < w) = n · ∫ φ(x)·(Φ(x+w) - Φ(x))ⁿ⁻¹ dx
//
// It is 0 for n below 2.
// Source: Pearson and Hartley, Biometrika Tables for Statisticians, table 29.
func SpreadFactor(n int) float64 {
	if n < 2 {
		return 0
	}
	const fine = 1e8 // of a standard deviation: twelve fit an int of 32 bits
	return float64(sort.Search(12*fine, func(w int) bool { return rangeProbability(n, float64(w)/fine) >= 0.95 })) / fine
}

// rangeProbability integrates by the trapezoidal rule, which is all but exact
// for what falls off like this at both ends.
func rangeProbability(n int, w float64) float64 {
	const step = 0.1
	sum := 0.0
	for x := -12.0; x <= 8; x += step {
		sum += distuv.UnitNormal.Prob(x) * math.Pow(distuv.UnitNormal.CDF(x+w)-distuv.UnitNormal.CDF(x), float64(n-1))
	}
	return float64(n) * sum * step
}
