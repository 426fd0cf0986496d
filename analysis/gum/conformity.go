// Package gum states how much a measured value can be trusted and what it then
// proves: an uncertainty budget with its coverage factor (JCGM 100, the GUM) and
// the decision rule about a window of limits (ISO 14253-1, JCGM 106).
package gum

import (
	"math"
	"sort"
)

// A Verdict says what a measured value proves about a window once its
// uncertainty is counted. Source: ISO 14253-1:2017 (decision rules).
type Verdict string

const (
	Inside     Verdict = "inside"            // conformity proven
	Outside    Verdict = "outside"           // non-conformity proven
	TooClose   Verdict = "too close to call" // neither is proven
	NotDecided Verdict = ""                  // no value, no window, or something is missing
)

// String is the one spelling of a verdict.
func (v Verdict) String() string {
	if v == NotDecided {
		return "not decided"
	}
	return string(v)
}

// Limits is a window for a quantity. Either end may be missing.
type Limits struct {
	Lower, Upper float64 // NaN: none
	Unit         string
}

// NoLimits returns a window without ends.
func NoLimits(unit string) Limits { return Limits{math.NaN(), math.NaN(), unit} }

// Any reports whether the window has at least one end.
func (l Limits) Any() bool { return !math.IsNaN(l.Lower) || !math.IsNaN(l.Upper) }

// Width returns Upper-Lower, +Inf when an end is missing.
func (l Limits) Width() float64 {
	if math.IsNaN(l.Lower) || math.IsNaN(l.Upper) {
		return math.Inf(1)
	}
	return l.Upper - l.Lower
}

// Middle returns the centre of the window, NaN when an end is missing.
func (l Limits) Middle() float64 { return (l.Lower + l.Upper) / 2 }

// Contains reports whether v is within the window, its ends included. It asks
// nothing about uncertainty.
func (l Limits) Contains(v float64) bool {
	return !math.IsNaN(v) && !Below(v, l.Lower) && !Below(l.Upper, v)
}

// Times returns the window with its ends multiplied by factor.
func (l Limits) Times(factor float64) Limits {
	return Limits{l.Lower * factor, l.Upper * factor, l.Unit}
}

// guardFactor is the one-sided factor for 95 % conformance probability in the
// rounded form of ISO 14253-1:2017; the exact quantile is 1.644854.
const guardFactor = 1.65

// HalfWidthFactor is the two-sided 95 % point of the normal distribution. A
// window narrower than twice this many standard uncertainties cannot hold a
// value that conforms with 95 % probability.
const HalfWidthFactor = 1.959963984540054

// A Reason is the one word for why a value is not decided.
type Reason string

// The reasons of Judge; "" for a decided value.
const (
	NoValue        Reason = "no-value"
	NoWindow       Reason = "no-window"
	UnknownInside  Reason = "uncertainty-unknown-inside"  // as read inside, but how well it was read is not known
	UnknownOutside Reason = "uncertainty-unknown-outside" // as read outside, but how well it was read is not known
	// OneConventionOnly is the reason of a verdict that is one way for a normal
	// and another for a transverse backlash.
	OneConventionOnly Reason = "convention-decides"
)

// A Decision is what a value and its uncertainty prove about a window.
type Decision struct {
	Verdict     Verdict
	Probability float64 // that the true value is within the window, normal; NaN: not decided
	Reason      Reason  // why it is NotDecided; "" for the other verdicts
}

// Judge decides whether value, with standard uncertainty u, proves conformity
// to l at 95 %. The acceptance zone is the window less the guard band, ends
// included; non-conformity is proven beyond the window by more than 1.65 u.
// Between them the verdict is too close to call. Values are compared as
// decimals: a difference below 1e-12 of their size is none. Without a value, a
// window or a usable u the verdict is NotDecided: u must be above 0, for no
// measurement is without doubt, and one whose doubt is unknown proves nothing.
// Sources: ISO 14253-1:2017 (decision rules, 95 % conformance probability);
// JCGM 106:2012, 7 and 8.3 (conformance probability, guarded acceptance).
func Judge(value, u float64, l Limits) Decision {
	d := Decision{Probability: math.NaN()}
	switch {
	case math.IsNaN(value):
		d.Reason = NoValue
		return d
	case !l.Any():
		d.Reason = NoWindow
		return d
	case !(u > 0) || math.IsInf(u, 0):
		d.Reason = UnknownOutside
		if l.Contains(value) {
			d.Reason = UnknownInside
		}
		return d
	}
	guard := guardBand(l.Width(), u)
	acceptance := Limits{l.Lower + guard, l.Upper - guard, l.Unit}
	d.Probability = ConformanceProbability(value, u, l)
	switch {
	case Below(value, l.Lower-guardFactor*u), Below(l.Upper+guardFactor*u, value):
		d.Verdict = Outside
	case acceptance.Contains(value):
		d.Verdict = Inside
	default:
		d.Verdict = TooClose
	}
	return d
}

// ConformanceProbability returns the probability that the quantity lies within
// l when value was measured with standard uncertainty u, for a normal
// distribution:
//
//	p = Φ((Upper-value)/u) - Φ((Lower-value)/u)
//
// Source: JCGM 106:2012, 7.2 to 7.4.
func ConformanceProbability(value, u float64, l Limits) float64 {
	lower, upper := (l.Lower-value)/u, (l.Upper-value)/u
	if math.IsNaN(l.Lower) {
		lower = math.Inf(-1)
	}
	if math.IsNaN(l.Upper) {
		upper = math.Inf(1)
	}
	if lower > 0 { // keep the digits of a small probability
		lower, upper = -upper, -lower
	}
	return normal.CDF(upper) - normal.CDF(lower)
}

// Capability returns the width of the window over the standard uncertainty and
// whether any reading at all could prove conformity at 95 %: a ratio below
// 3.92 cannot, nor one that is not a number. A window with one end gives +Inf.
// Source: JCGM 106:2012, 7.6.3 names T/(4u) the measurement capability index.
func Capability(l Limits, u float64) (ratio float64, decidable bool) {
	ratio = l.Width() / u
	return ratio, ratio >= 2*HalfWidthFactor
}

// guardBand returns the guard band that gives at least 95 % conformance
// probability at the edge of the acceptance zone: 1.65 u in a wide window,
// more in one that is narrow against u. For a window too narrow to accept
// anything it is 1.96 u, so that the acceptance zone is empty.
func guardBand(width, u float64) float64 {
	t := width / u
	const steps = 1 << 30 // from the one factor to the other, as many as an int of 32 bits holds
	factor := func(i int) float64 { return guardFactor + (HalfWidthFactor-guardFactor)*float64(i)/steps }
	enough := func(i int) bool { return normal.CDF(factor(i))-normal.CDF(factor(i)-t) >= usually }
	return u * factor(sort.Search(steps, enough))
}

// Below reports whether a < b as decimals. Binary fractions make
// 0.25 - 1.65·0.01 come out one unit of the last place under 0.2335; a
// difference below 1e-12 of the larger one is not one a gauge can show.
func Below(a, b float64) bool { return b-a > 1e-12*math.Max(math.Abs(a), math.Abs(b)) }

// A Doubt is a value with what stands behind it, in one unit.
type Doubt struct {
	Value float64
	U     float64 // standard uncertainty to judge by: see Guarding
	Own   float64 // the part of U that more repeats make less
	N     int     // repeats behind it
}

// lookGuard widens the part of the uncertainty that more repeats make less while
// after each of them it is asked whether they are enough: who looks often is in
// luck once. With it a value on its limit is taken for inside in little more than
// the 5 % of a single look, by the models of the test.
const lookGuard = 1.5

// Enough returns how many repeats in all a value takes to be decided against l: N
// where it is decided already or where no number up to most is likely to decide it,
// for then more do not help; else the fewest that would if the value stayed what it
// is, or moved either way by what the further ones are expected to move it. Of a
// doubt that is not known it is N.
func (d Doubt) Enough(l Limits, most int) int {
	own := math.Min(d.Own, d.U)
	for n := d.N; n <= most; n++ {
		u := math.Sqrt(d.U*d.U - own*own*(1-lookGuard*lookGuard*float64(d.N)/float64(n)))
		moves := d.Own * math.Sqrt(1-float64(d.N)/float64(n))
		for _, v := range []float64{d.Value, d.Value - moves, d.Value + moves} {
			if Judge(v, u, l).Verdict != TooClose {
				return n
			}
		}
	}
	return d.N
}
