package gum

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Component is one source of doubt about a measured value.
type Component struct {
	Name        string
	U           float64 // standard uncertainty, in the component's own unit
	Sensitivity float64 // change of the value per unit of the component
	DoF         float64 // degrees of freedom behind U; math.Inf(1) for a stated limit
	Even        bool    // spread evenly between -√3·U and √3·U, a rectangle; else as a normal quantity
}

// Contribution returns the component's share of the combined standard
// uncertainty, |Sensitivity|·U, in the unit of the value.
func (c Component) Contribution() float64 { return math.Abs(c.Sensitivity) * c.U }

// A Budget is what the components of doubt about a value come to.
type Budget struct {
	Combined     float64 // combined standard uncertainty
	EffectiveDoF float64 // Welch-Satterthwaite, not truncated; +Inf when every component is a stated limit
	Even         float64 // standard uncertainty of the widest rectangle among the components
}

// ErrBadComponent marks an uncertainty component that is negative, not a
// number, or has fewer than one degree of freedom.
var ErrBadComponent = errors.New("bad uncertainty component")

// Combine adds independent components into a budget:
//
//	u² = Σ (c·u)²,  ν = u⁴ / Σ (c·u)⁴/ν[i]
//
// Nothing is rounded on the way. No components give a zero budget.
// Source: JCGM 100:2008, 5.1.2 and G.4.1.
func Combine(cs []Component) (Budget, error) {
	variance, welch, even := 0.0, 0.0, 0.0
	for _, c := range cs {
		own := c.Contribution()
		if !(c.U >= 0) || math.IsInf(own, 0) || math.IsNaN(own) || !(c.DoF >= 1) && (own > 0 || math.IsNaN(c.DoF)) {
			return Budget{}, fmt.Errorf("%w: %q of %v with %v degrees of freedom, %v times", ErrBadComponent, c.Name, c.U, c.DoF, c.Sensitivity)
		}
		variance += own * own
		if c.Even {
			even = math.Max(even, own)
		}
		if own > 0 && !math.IsInf(c.DoF, 1) {
			welch += own * own * own * own / c.DoF
		}
	}
	b := Budget{Combined: math.Sqrt(variance), EffectiveDoF: math.Inf(1), Even: even}
	if welch > 0 {
		b.EffectiveDoF = variance * variance / welch
	}
	return b, nil
}

// Stated returns the standard uncertainty to keep with a value: Combined, enlarged
// by k/2 where so few degrees of freedom stand behind it that k, the factor for
// 95 %, is above 2, and lessened where a rectangle makes most of it, which ends
// sooner than a normal quantity of its deviation. Twice it is then the one
// expanded uncertainty wherever the value goes. To judge by it see Guarding.
// Source: JCGM 100:2008, 6.3.3 and G.6.4; JCGM 101:2008, 9.2.4.
func (b Budget) Stated() float64 {
	narrow := shapes.at(func(s shape) float64 { return s.share }, b.Even*b.Even/(b.Combined*b.Combined)).two
	return b.Combined * math.Max(1, CoverageFactor(usually, b.EffectiveDoF)/2) * narrow
}

// RoundU rounds an uncertainty to two significant digits, and says how many
// decimals it and its value are then written with: up where rounding to the
// nearest would make it smaller by more than a hundredth. Digits in front of the
// point are never rounded away. A u that is not above 0 stays as it is.
// Source: JCGM 100:2008, 7.2.6 (10,47 becomes 11, and 28,05 becomes 28).
func RoundU(u float64) (rounded float64, decimals int) {
	if !(u > 0) || math.IsInf(u, 0) {
		return u, 0
	}
	decimals = max(0, 1-int(math.Floor(math.Log10(u))))
	scale := math.Pow10(decimals)
	n := math.Round(u * scale)
	if n < 0.99*u*scale {
		n = math.Ceil(u * scale)
	}
	if n >= 100 && decimals > 0 { // 0.0996 became 0.100
		n, decimals, scale = n/10, decimals-1, scale/10
	}
	return n / scale, decimals
}

// Rounded returns v to the decimal that has the second significant digit of its
// expanded uncertainty, for printing; v as it is where that is not above 0.
// Source: JCGM 100:2008, 7.2.6.
func Rounded(v, expanded float64) float64 {
	if !(expanded > 0) || math.IsInf(expanded, 0) {
		return v
	}
	_, decimals := RoundU(expanded)
	scale := math.Pow10(decimals)
	return math.Round(v*scale)/scale + 0 // without the sign of a negative zero
}

// RoundedU returns the expanded uncertainty u as it is stated, to two significant
// digits. Source: as Rounded.
func RoundedU(u float64) float64 {
	u, _ = RoundU(u)
	return u
}

// Carried is Rounded where the expanded uncertainty may be unknown: v then has
// so many decimals.
func Carried(v, expanded float64, decimals int) float64 {
	if !(expanded > 0) {
		expanded = math.Pow10(1 - decimals)
	}
	return Rounded(v, expanded)
}

// CoverageFactor returns the two-sided Student t factor for the coverage
// probability at dof degrees of freedom truncated down to a whole number, at
// least 1: the normal factor when dof is infinite, NaN when it is NaN.
// Source: JCGM 100:2008, G.4.1 note 1 and table G.2.
func CoverageFactor(coverage, dof float64) float64 {
	p := (1 + coverage) / 2
	nu := math.Max(1, math.Floor(dof+1e-9))
	if nu > 1e6 { // no digit that counts is left between the two
		return normal.Quantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(p)
}

// usually is the coverage probability that uncertainties are stated for.
const usually = 0.95

// normal is the standard normal distribution.
var normal = distuv.Normal{Mu: 0, Sigma: 1}

// Coverage is the factor from a standard uncertainty to the expanded one that is
// stated, for about 95 %. Source: JCGM 100:2008, 6.3.3.
const Coverage = 2

// Rectangular returns the standard uncertainty a/√3 of a quantity known to lie
// within ±a with no value likelier than another. Source: JCGM 100:2008, 4.3.7.
func Rectangular(a float64) float64 { return a / math.Sqrt(3) }

// Resolution returns the standard uncertainty d/√12 of a display that counts
// in full steps of d. Source: JCGM 100:2008, F.2.2.1.
func Resolution(d float64) float64 { return d / math.Sqrt(12) }
