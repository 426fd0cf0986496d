package frame

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
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

// fractionForm is what may follow a whole number: "/2", or " 1/2".
var fractionForm = regexp.MustCompile(`^(?:[ \t]+(\d+))?/(\d+)`)

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
	n, i := scanNumber([]byte(s), 0, true, true)
	if i < 0 {
		return 0, "", errNoValue
	}
	v := math.Abs(n.value) // "-3 1/2" is less than -3: the sign is for the whole
	if m := fractionForm.FindStringSubmatch(s[i:]); m != nil && n.decimals == 0 && !n.exponent {
		over, _ := strconv.ParseFloat("0"+m[1], 64)
		under, err := strconv.ParseFloat(m[2], 64)
		switch mixed := m[1] != ""; {
		case err != nil, under == 0, mixed && over >= under:
			return 0, "", errNoValue
		case mixed:
			v += over / under
		default:
			v /= under
		}
		i += len(m[0])
	}
	if n.minus {
		v = -v
	}
	word := []byte(strings.TrimLeft(s[i:], " \t"))
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
