package feature

import (
	"cmp"
	"fmt"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/record"
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
	f := measurables[name]
	if f.Quantity != "length" {
		division = 0
	}
	var values []device.KeyedValue
	var err error
	if f.parse != nil {
		values, err = f.parse(line, division)
	} else if values, err = parseOne(line, division); err == nil && values[0].Unit == "" && strings.Contains(strings.ToLower(line), "div") {
		values[0].Unit = f.Unit // a division has the gauge's unit, whatever the manual is in
	}
	if err != nil {
		return nil, fmt.Errorf("%w: want %s", err, cmp.Or(f.example, "one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div"))
	}
	return values, nil
}

func parseOne(line string, division float64) ([]device.KeyedValue, error) {
	v, unit, err := frame.ParseKeyed(line, division)
	if err != nil {
		return nil, err
	}
	return []device.KeyedValue{{Value: v, Unit: unit}}, nil
}

// rankTime puts times behind all else.
func rankTime(unit string) int {
	if _, ok := record.OwnUnits["time"][unit]; ok {
		return 1
	}
	return 0
}
