// Package stat holds the statistics that measurements share: moments, quantiles,
// robust scatter, least squares and what a gauge's digits tell of its display.
package stat

import (
	"errors"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// ErrTooFew is returned when there are not enough values for the statistic
// asked for.
var ErrTooFew = errors.New("too few values")

// ErrNotFinite is returned when a value is NaN or infinite.
var ErrNotFinite = errors.New("value is not a finite number")

// Mean returns the arithmetic mean of x, in the unit of x. It is computed
// about the first value, so that a small spread on a large offset keeps its
// digits. It returns NaN for an empty x.
func Mean(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	origin, sum := x[0], 0.0
	for _, v := range x {
		sum += v - origin
	}
	return origin + sum/float64(len(x))
}

// StdDev returns the sample standard deviation of x, in the unit of x:
//
//	s = sqrt(Σ(x[i]-mean)² / (n-1))
//
// in two passes. It returns NaN for fewer than two values. x is unchanged.
// Source: JCGM 100:2008, 4.2.2, equation (4).
func StdDev(x []float64) float64 {
	if len(x) < 2 {
		return math.NaN()
	}
	_, sd := stat.MeanStdDev(x, nil)
	return sd
}

// Median returns the middle value of x, the mean of the two middle ones for an
// even count, NaN for an empty x. x is unchanged.
func Median(x []float64) float64 { return MedianInPlace(slices.Clone(x)) }

// MedianInPlace is Median and leaves x sorted.
func MedianInPlace(x []float64) float64 {
	slices.Sort(x)
	return SortedQuantile(x, 0.5)
}

// Quantile returns the value below which the share p of x lies, by linear
// interpolation between order statistics at (n-1)·p. It returns NaN for an
// empty x; p is 0 to 1. x is unchanged.
// Source: Hyndman and Fan 1996, definition 7.
func Quantile(x []float64, p float64) float64 {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	return SortedQuantile(s, p)
}

// SortedQuantile is Quantile of values in order; NaN for none.
func SortedQuantile(s []float64, p float64) float64 {
	if len(s) == 0 {
		return math.NaN()
	}
	h := p * float64(len(s)-1)
	i := int(h)
	if i >= len(s)-1 {
		return s[len(s)-1]
	}
	return s[i] + (h-float64(i))*(s[i+1]-s[i])
}

// NormalMAD times the median distance of normal values from their middle is their
// standard deviation.
const NormalMAD = 1.4826022185056018

// RobustSD returns NormalMAD times the median absolute deviation of x from its
// median: the standard deviation of a normal x, hardly moved by outliers.
func RobustSD(x []float64) float64 {
	d := slices.Clone(x)
	floats.AddConst(-Median(x), d)
	return NormalMAD * MedianMagnitude(d)
}

// Lag1 returns the lag-1 autocorrelation coefficient of x:
//
//	r = Σ(x[i]-m)(x[i-1]-m) / Σ(x[i]-m)²
//
// x holds a value; it returns NaN for a single one or a constant x.
// Source: NIST StRD, univariate summary statistics.
func Lag1(x []float64) float64 {
	d := slices.Clone(x)
	floats.AddConst(-Mean(x), d)
	return floats.Dot(d[1:], d[:len(d)-1]) / floats.Dot(d, d)
}

// Wrap returns v brought into [0, period).
func Wrap(v, period float64) float64 {
	v = math.Mod(v, period)
	if v < 0 {
		v += period
	}
	if v >= period {
		v = 0
	}
	return v
}

// Finite reports whether v is neither NaN nor infinite.
func Finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// largest is beyond anything a gauge can show, in any unit used here.
const largest = 1e9

// Sensible reports whether v is a number a gauge could have sent.
func Sensible(v float64) bool { return math.Abs(v) < largest }

// Square returns v², 0 for a v that is not a number.
func Square(v float64) float64 {
	if !Finite(v) {
		return 0
	}
	return v * v
}
