package logger

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
)

// ParseTyped reads a line typed for a feature. It is one value, but for an air
// test, which may be given whole in one line,
//
//	690 688 kPa 10 min     6.9 bar 20 C 6.88 bar 21 C 10 min
//
// where a number without a unit has that of the next one; and for a try of the
// lock: see parseTry. division is the size of one division of the dial in the
// feature's unit, 0 where that is not known. The error says what is wrong with
// the line and what is wanted.
func ParseTyped(name, line string, division float64) ([]device.KeyedValue, error) {
	f := roundFeatureOf(name)
	if f.quantity != "length" {
		division = 0
	}
	var values []device.KeyedValue
	var err error
	switch {
	case f.kind == kindLeak:
		values, err = parseAir(line)
	case f.name == FeatureEngagement:
		values, err = parseTry(line)
	default:
		values, err = parseOne(line, division)
		if err == nil && values[0].Unit == "" && strings.Contains(strings.ToLower(line), "div") {
			values[0].Unit = f.unit // a division has the gauge's unit, whatever the manual is in
		}
	}
	if err != nil {
		return nil, fmt.Errorf("%w: want %s", err, typedExample(f))
	}
	return values, nil
}

// typedExample says by examples what is typed for a feature.
func typedExample(f roundFeature) string {
	switch {
	case f.kind == kindPattern:
		return "a place from -1 to +1 such as -0.3"
	case f.kind == kindTurning:
		return "a torque such as 1.5, 13 kgf cm, 12 lbf in or 40 N x 35 mm"
	case f.kind == kindBolts:
		return "a torque such as 95, 70 lbf ft or 9.7 kgf m"
	case f.kind == kindLeak:
		return "the pressure, the pressure later and the time between, such as 690 688 kPa 10 min"
	case f.name == FeatureEngagement:
		return "yes, yes 0.6 s, no lock or no free"
	case f.quantity == "volume":
		return "a volume such as 1.9, 1900 ml or 2 qt (US)"
	}
	return "one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div"
}

func parseOne(line string, division float64) ([]device.KeyedValue, error) {
	v, unit, err := frame.ParseKeyed(line, division)
	if err != nil {
		return nil, err
	}
	return []device.KeyedValue{{Value: v, Unit: unit}}, nil
}

// airValues bounds the values of an air test in one line: two pressures, two
// temperatures, one time.
const airValues = 5

// parseAir reads the values of an air test. The time comes last, wherever it
// was typed, for it completes the test.
func parseAir(line string) ([]device.KeyedValue, error) {
	var values []device.KeyedValue
	for _, group := range numberGroups(line) {
		v, unit, err := frame.ParseKeyed(group, 0)
		if err != nil {
			return nil, fmt.Errorf("%q is %w", group, err)
		}
		values = append(values, device.KeyedValue{Value: v, Unit: unit})
	}
	if len(values) == 0 || len(values) > airValues {
		return nil, fmt.Errorf("%d values", len(values))
	}
	for i := len(values) - 2; i >= 0; i-- {
		if values[i].Unit == "" {
			values[i].Unit = values[i+1].Unit
		}
	}
	slices.SortStableFunc(values, func(a, b device.KeyedValue) int {
		return rankTime(a.Unit) - rankTime(b.Unit)
	})
	return values, nil
}

func rankTime(unit string) int {
	if _, ok := ownUnits["time"][unit]; ok {
		return 1
	}
	return 0
}

// numberGroups cuts a line before each word that begins with a digit or a sign
// and a digit.
func numberGroups(line string) []string {
	var groups []string
	for word := range strings.FieldsSeq(line) {
		digits := strings.TrimLeft(word, "+-.,")
		if len(groups) == 0 || digits != "" && digits[0] >= '0' && digits[0] <= '9' {
			groups = append(groups, word)
			continue
		}
		groups[len(groups)-1] += " " + word
	}
	return groups
}

// What one try of the lock is told as: a state with 1 for reached and 0 for
// not, or the seconds it took to lock, which says that it also freed.
const (
	tryLocked = "locked"
	tryFreed  = "freed"
)

// tryWords are the words for a try, without spaces.
var tryWords = map[string]device.KeyedValue{
	"y": {Value: 1, Unit: tryFreed}, "yes": {Value: 1, Unit: tryFreed},
	"nolock": {Unit: tryLocked}, "notlocked": {Unit: tryLocked}, "didnotlock": {Unit: tryLocked},
	"nofree": {Unit: tryFreed}, "notfreed": {Unit: tryFreed}, "didnotfree": {Unit: tryFreed},
}

// parseTry reads one try of the lock: yes where it locked and freed, with the
// seconds it took to lock if they were taken; else no lock or no free.
func parseTry(line string) ([]device.KeyedValue, error) {
	line = strings.ToLower(strings.TrimSpace(line))
	if v, ok := tryWords[strings.ReplaceAll(line, " ", "")]; ok {
		return []device.KeyedValue{v}, nil
	}
	if line == "no" || line == "n" {
		return nil, errors.New("which of them failed is not said")
	}
	seconds := strings.TrimPrefix(strings.TrimPrefix(line, "yes"), "y")
	values, err := parseOne(strings.TrimSpace(seconds), 0)
	if err != nil {
		return nil, err
	}
	if values[0].Unit == "" {
		values[0].Unit = "s"
	}
	if rankTime(values[0].Unit) == 0 || values[0].Value < 0 {
		return nil, errors.New("not a time")
	}
	return values, nil
}

// A typedMeasurer takes typed values in whatever unit they have, "" for none.
type typedMeasurer interface {
	typed(v float64, unit string, rd device.Reading) error
}

// typed takes one typed value. Without a measurer of its own a feature has one
// capture a value; unit "" is then the manual's, but a leak must name it:
// a pressure is the more likely thing to be read off a gauge.
func (r *Round) typed(v float64, unit string, rd device.Reading) error {
	if m, ok := r.measure.(typedMeasurer); ok {
		if r.done {
			r.warn(allStored)
			return nil
		}
		return m.typed(v, unit, rd)
	}
	if unit == "" && r.feat.kind == kindLeak {
		r.warn("Name the unit of what you typed: 0.2 kPa/min.")
		return nil
	}
	v, err := r.feat.convert(v, orElse(unit, r.typedUnit()))
	if err != nil {
		r.warn(capitalise(err.Error()) + ".")
		return nil
	}
	return r.keyed(v, rd)
}

// allStored answers a value typed after the last position.
const allStored = "Every position is stored; undo one to measure it again."

// typedDecimals is how many decimals a typed value had, as far as its value
// still shows them.
func typedDecimals(v float64) int {
	if math.IsNaN(v) {
		return 0
	}
	return decimalsOf(v)
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}
