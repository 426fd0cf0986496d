package feature

import (
	"crownlog/device/frame"
	"crownlog/logger/record"
)

func parseOne(line string, division float64) ([]frame.KeyedValue, error) {
	v, unit, err := frame.ParseKeyed(line, division)
	if err != nil {
		return nil, err
	}
	return []frame.KeyedValue{{Value: v, Unit: unit}}, nil
}

// rankTime puts times behind all else.
func rankTime(unit string) int {
	if _, ok := record.OwnUnits["time"][unit]; ok {
		return 1
	}
	return 0
}
