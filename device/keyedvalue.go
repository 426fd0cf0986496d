package device

import (
	"errors"
	"fmt"
	"math"
)

// ParseKeyed reads one typed value, with its unit where it names one:
//
//	0.18   0,18 mm   7 thou   .007in   3 1/2 div   1/2 div   -0.02
//	40 N x 50 mm   9 lbf x 2 in
//
// The last two are a spring scale's pull on a cord and the radius it is wound
// at, and make a torque.
// A value in divisions is in the unit of the gauge and has no unit of its own;
// division is how large one is, 0 where that is not known. The error says what
// is wanted.
func ParseKeyed(s string, division float64) (value float64, unit string, err error) {
	text := []byte(s)
	errForm := errors.New(`want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div`)
	n, i := scanNumber(text, 0, true, true)
	if i < 0 {
		return 0, "", errForm
	}
	v := math.Abs(n.value)
	whole := n.decimals == 0 && !n.exponent
	if j := skipSpaces(text, i); whole && j > i && digitAt(text, j) {
		num, k := scanNumber(text, j, false, false)
		if k < 0 || k >= len(text) || text[k] != '/' {
			return 0, "", errForm
		}
		part, end, ok := fraction(text, num, k)
		if !ok || part >= 1 {
			return 0, "", errForm
		}
		v, i = v+part, end
	} else if whole && i < len(text) && text[i] == '/' {
		part, end, ok := fraction(text, number{value: v}, i)
		if !ok {
			return 0, "", errForm
		}
		v, i = part, end
	}
	if n.minus {
		v = -v
	}
	word := text[skipSpaces(text, i):]
	if len(word) == 0 {
		return v, "", nil
	}
	if torque, unit, ok := cordPull(v, word); ok {
		return torque, unit, nil
	}
	switch string(word) {
	case "thou", "mil", "mils", "THOU":
		return v / 1000, "in", nil
	case "div", "divs", "division", "divisions", "DIV":
		if division <= 0 {
			return 0, "", errors.New("the size of a division is not known")
		}
		return v * division, "", nil
	}
	if u, ok := unitOf(word); ok {
		return v, u, nil
	}
	if len(word) > longestUnit {
		return 0, "", errForm
	}
	return 0, "", fmt.Errorf("unit %q is not known, and %w", word, errForm)
}

// fraction reads the denominator after the slash at text[i].
func fraction(text []byte, numerator number, i int) (float64, int, bool) {
	if !digitAt(text, i+1) {
		return 0, 0, false
	}
	den, end := scanNumber(text, i+1, false, false)
	if end < 0 || den.exponent || numerator.exponent || den.value == 0 {
		return 0, 0, false
	}
	return numerator.value / den.value, end, true
}

func skipSpaces(b []byte, i int) int {
	for i < len(b) && (b[i] == ' ' || b[i] == '\t') {
		i++
	}
	return i
}
