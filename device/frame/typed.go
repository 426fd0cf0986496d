package frame

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
)

// keyedUnits are units that are typed though no gauge sends them, spelled as
// in units.
var keyedUnits = map[string]string{
	"l": "L", "litre": "L", "liter": "L", "litres": "L", "liters": "L",
	"ml": "ml", "qt": "qt", "quart": "qt", "quarts": "qt",
	"kpa/min": "kPa/min", "bar/min": "bar/min", "psi/min": "psi/min",
	"s": "s", "sec": "s", "seconds": "s", "min": "min", "minutes": "min",
	"c": "°C", "celsius": "°C",
}

// errNoValue says that a line is not one value; who asked for it knows what to
// give as an example.
var errNoValue = errors.New("not one value")

// A KeyedValue is one value of a typed line; its unit may be "".
type KeyedValue struct {
	Value float64
	Unit  string
}

// ParseKeyed reads one typed value, with its unit where it names one:
//
//	0.18   0,18 mm   7 thou   .007in   3 1/2 div   1/2 div   -0.02
//	60 ft lbs   1.9 L   40 N x 50 mm   9 lbf x 2 in
//
// The last two are a spring scale's pull on a cord and the radius it is wound
// at, and make a torque.
// A value in divisions is in the unit of the gauge and has no unit of its own;
// division is how large one is, 0 where that is not known. The error says what
// is wrong, not what is wanted: that depends on what is measured.
func ParseKeyed(s string, division float64) (value float64, unit string, err error) {
	text := []byte(s)
	n, i := scanNumber(text, 0, true, true)
	if i < 0 {
		return 0, "", errNoValue
	}
	v := math.Abs(n.value) // "-3 1/2" is less than -3: the sign is for the whole
	whole := n.decimals == 0 && !n.exponent
	if j := skipSpaces(text, i); whole && digitAt(text, j) {
		num, k := scanNumber(text, j, false, false)
		part, end, ok := fraction(text, num, k)
		if !ok || part >= 1 {
			return 0, "", errNoValue
		}
		v, i = v+part, end
	} else if whole && i < len(text) && text[i] == '/' {
		var ok bool
		if v, i, ok = fraction(text, number{value: v}, i); !ok {
			return 0, "", errNoValue
		}
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
	if u, ok := keyedUnit(word); ok {
		return v, u, nil
	}
	if len(word) > longestUnit || digitAt(word, 0) {
		return 0, "", errNoValue
	}
	return 0, "", fmt.Errorf("unit %q is not known", word)
}

// keyedUnit is UnitOf for a typed word, which may have spaces in it.
func keyedUnit(word []byte) (string, bool) {
	plain := bytes.ReplaceAll(word, []byte(" "), nil)
	if u, ok := UnitOf(plain); ok {
		return u, true
	}
	u, ok := keyedUnits[strings.ToLower(string(plain))]
	return u, ok
}

// fraction reads the slash at text[i], if there is one, and the denominator.
func fraction(text []byte, numerator number, i int) (float64, int, bool) {
	if i < 0 || i >= len(text) || text[i] != '/' || !digitAt(text, i+1) {
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
