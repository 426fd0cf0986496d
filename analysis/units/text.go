package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Short writes a value with at most four decimals and no trailing zeros.
func Short(v float64) string { return Trimmed(v, 4) }

// Trimmed writes a value with at most so many decimals, one or more, and no
// trailing zeros.
func Trimmed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// Fixed writes v with so many decimals, without a sign where nothing is left of
// it; "–" where there is no value.
func Fixed(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	s := strconv.FormatFloat(v, 'f', max(decimals, 0), 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Counted writes "1 notch" or "3 notches".
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Exact writes a value with as many digits as it takes to read it back.
func Exact(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// RoundTo rounds v to a multiple of step, the reciprocal of a whole number; NaN
// stays NaN, and what rounds to nothing has no sign, for "-0" is read back as 0.
func RoundTo(v, step float64) float64 { return math.Round(v/step)/math.Round(1/step) + 0 }

// RoundStep is the smallest of 1, 2 and 5 times a power of ten that is not below v,
// which is above 0: a step for a scale.
func RoundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if v <= m*p*(1+1e-9) {
			return m * p
		}
	}
	return 10 * p
}
