package frame

import (
	"math"
	"regexp"
	"strings"
)

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

// pullForm is what follows the pull in "40 N x 50 mm" or "40N*50mm".
var pullForm = regexp.MustCompile(`(?i)^([a-z]+?)[ \t]*(?:x|\*|×)[ \t]*(.+?)[ \t]*([a-z]+)[ \t]*$`)

// cordPull reads the rest of a pull on a cord and returns the torque. It is
// false for anything else, and for a radius that is not above 0.
func cordPull(pull float64, rest []byte) (torque float64, unit string, ok bool) {
	m := pullForm.FindSubmatch(rest)
	if m == nil {
		return 0, "", false
	}
	radius, end := scanNumber(m[2], 0, true, true)
	t, known := cordTorques[[2]string{strings.ToLower(string(m[1])), strings.ToLower(string(m[3]))}]
	torque = pull * radius.value * t.size
	if !known || end != len(m[2]) || !(radius.value > 0) || math.IsInf(torque, 0) {
		return 0, "", false
	}
	return torque, t.unit, true
}
