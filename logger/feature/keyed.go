package feature

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"crownlog/device/frame"
)

// keyedUnits are units that are typed though no gauge sends them, in lower case.
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

var (
	// keyedForm is a sign, then a fraction, maybe behind a whole number, or a
	// number, and what follows.
	keyedForm = regexp.MustCompile(`(?s)^([-+]?) *(?:(?:(\d+)[ \t]+)?(\d+)/(\d+)|((?:\d+(?:\.\d*|,\d+)?|[.,]\d+)(?:[eE][-+]?\d+)?))[ \t]*(.*)$`)
	// pullForm is what follows the pull in "40 N x 50 mm" or "40N*50mm".
	pullForm = regexp.MustCompile(`(?i)^(n|kgf?|lbf?)[ \t]*[x*×][ \t]*(\d*[.,]?\d+)[ \t]*(mm|cm|m|in)[ \t]*$`)
)

// parseKeyed reads one typed value, with its unit where it names one:
//
//	0.18   0,18 mm   7 thou   .007in   3 1/2 div   1/2 div   -0.02
//	60 ft lbs   1.9 L   40 N x 50 mm   9 lbf x 2 in
//
// The last two are a spring scale's pull on a cord and the radius it is wound
// at, and make a torque.
// A value in divisions is in the unit of the gauge and has no unit of its own;
// division is how large one is, 0 where that is not known. The error says what
// is wrong, not what is wanted: that depends on what is measured.
func parseKeyed(s string, division float64) (value float64, unit string, err error) {
	m := keyedForm.FindStringSubmatch(s)
	if m == nil {
		return 0, "", errNoValue
	}
	v, err := decimal(cmp.Or(m[2], m[5], "0"))
	if m[4] != "" {
		over, overErr := decimal(m[3])
		under, underErr := decimal(m[4])
		if under == 0 || m[2] != "" && over >= under {
			err = errNoValue
		}
		err = cmp.Or(err, overErr, underErr)
		v += over / under
	}
	if err != nil {
		return 0, "", errNoValue
	}
	if m[1] == "-" { // "-3 1/2" is less than -3: the sign is for the whole
		v = -v
	}
	word := m[6]
	if torque, unit, ok := cordPull(v, word); ok {
		return torque, unit, nil
	}
	switch strings.ToLower(word) {
	case "":
		return v, "", nil
	case "thou", "mil", "mils":
		return v / 1000, "in", nil
	case "div", "divs", "division", "divisions":
		if division <= 0 {
			return 0, "", errors.New("the size of a division is not known")
		}
		return v * division, "", nil
	}
	plain := strings.ReplaceAll(word, " ", "")
	known, ok := frame.UnitOf([]byte(plain))
	if known = cmp.Or(known, keyedUnits[strings.ToLower(plain)]); ok || known != "" {
		return v, known, nil
	}
	if word[0] >= '0' && word[0] <= '9' {
		return 0, "", errNoValue
	}
	return 0, "", fmt.Errorf("unit %q is not known", word)
}

// decimal reads digits with a decimal point or comma.
func decimal(s string) (float64, error) {
	return strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
}

// cordTorques says, for the unit of a pull, the unit of the torque and the radius
// in mm at which one of the pull makes one of it, and radii how much of a mm the
// units of a radius are. Source: T = F·r.
var (
	cordTorques = map[string]struct {
		unit string
		at   float64
	}{"n": {"N·m", 1000}, "kgf": {"kgf·cm", 10}, "kg": {"kgf·cm", 10}, "lbf": {"lbf·in", 25.4}, "lb": {"lbf·in", 25.4}}
	radii = map[string]float64{"mm": 1, "cm": 10, "m": 1000, "in": 25.4}
)

// cordPull reads the rest of a pull on a cord and returns the torque. It is
// false for anything else, and for a radius that is not above 0.
func cordPull(pull float64, rest string) (torque float64, unit string, ok bool) {
	m := pullForm.FindStringSubmatch(strings.ToLower(rest))
	if m == nil {
		return 0, "", false
	}
	t := cordTorques[m[1]]
	radius, err := decimal(m[2])
	torque = pull * radius * (radii[m[3]] / t.at)
	return torque, t.unit, err == nil && radius > 0 && !math.IsInf(torque, 0)
}
