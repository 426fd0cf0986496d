package frame

import "math"

// cordTorques says, for the unit of a pull and of the radius, the unit of the
// torque and how much of it one unit of pull at one unit of radius makes.
// Source: T = F·r.
var cordTorques = map[[2]string]struct {
	unit string
	size float64
}{
	{"n", "mm"}:   {"N·m", 0.001},
	{"n", "cm"}:   {"N·m", 0.01},
	{"n", "m"}:    {"N·m", 1},
	{"kgf", "mm"}: {"kgf·cm", 0.1},
	{"kgf", "cm"}: {"kgf·cm", 1},
	{"kg", "mm"}:  {"kgf·cm", 0.1},
	{"kg", "cm"}:  {"kgf·cm", 1},
	{"lbf", "in"}: {"lbf·in", 1},
	{"lb", "in"}:  {"lbf·in", 1},
}

// cordPull reads what follows the pull in "40 N x 50 mm" or "40N*50mm" and
// returns the torque. It is false for anything else, and for a radius that is
// not above 0.
func cordPull(pull float64, rest []byte) (torque float64, unit string, ok bool) {
	force, i := lowerWord(rest, 0)
	i = skipSpaces(rest, i)
	sign := timesSign(rest[i:])
	if sign == 0 {
		return 0, "", false
	}
	radius, i := scanNumber(rest, skipSpaces(rest, i+sign), true, true)
	if i < 0 || !(radius.value > 0) {
		return 0, "", false
	}
	length, end := lowerWord(rest, skipSpaces(rest, i))
	t, known := cordTorques[[2]string{force, length}]
	torque = pull * radius.value * t.size
	if !known || skipSpaces(rest, end) < len(rest) || math.IsInf(torque, 0) {
		return 0, "", false
	}
	return torque, t.unit, true
}

// lowerWord returns the letters at b[i] in lower case, and where they end. The
// x between a unit and a number is no part of the unit.
func lowerWord(b []byte, i int) (string, int) {
	var word []byte
	for ; i < len(b); i++ {
		c := lower(b[i])
		if c < 'a' || c > 'z' || c == 'x' {
			break
		}
		word = append(word, c)
	}
	return string(word), i
}

// timesSign is the length of the multiplication sign that b begins with, 0 if
// there is none.
func timesSign(b []byte) int {
	switch {
	case len(b) > 0 && (b[0] == 'x' || b[0] == 'X' || b[0] == '*'):
		return 1
	case len(b) > 1 && string(b[:2]) == "×":
		return 2
	}
	return 0
}
