package main

import (
	"fmt"
	"math"

	"crownlog/analysis/rocking"
	"crownlog/analysis/setup"
)

// flangeFlags say where a backlash was read and where it is stated.
type flangeFlags struct {
	FlangeRadiusMM float64 `name:"flange-radius-mm" help:"Backlash, read at the pinion's flange with the crown wheel held: the plunger's distance from the pinion's axis in mm. Needs the next three."`
	WheelRadiusMM  float64 `name:"wheel-radius-mm" help:"Backlash: radius of the crown wheel that the value holds for, in mm; gives the angle too."`
	PinionTeeth    int     `help:"Backlash at the flange: teeth of the pinion."`
	WheelTeeth     int     `help:"Backlash at the flange: teeth of the crown wheel."`
}

// factor is what a reading is multiplied by to be the backlash at the crown
// wheel: 1 unless it was read at the flange.
func (f flangeFlags) factor() (float64, error) {
	if f.FlangeRadiusMM == 0 {
		if f.PinionTeeth != 0 || f.WheelTeeth != 0 || f.WheelRadiusMM < 0 || math.IsNaN(f.WheelRadiusMM) {
			return 0, usagef("the teeth go with --flange-radius-mm, and a radius is above 0", "--wheel-radius-mm %v, teeth %d/%d", f.WheelRadiusMM, f.PinionTeeth, f.WheelTeeth)
		}
		return 1, nil
	}
	k, err := setup.FlangeBacklash(1, f.FlangeRadiusMM, f.WheelRadiusMM, f.PinionTeeth, f.WheelTeeth)
	if err != nil {
		return 0, usagef("give --flange-radius-mm, --wheel-radius-mm, --pinion-teeth and --wheel-teeth together", "backlash at the flange: %w", err)
	}
	return k, nil
}

// convert restates b, read where the flags say, at the crown wheel. The stops
// stay as they were read. Notes say how it was done.
func (f flangeFlags) convert(b rocking.Backlash, factor float64) (rocking.Backlash, []string) {
	if b.Refused {
		return b, nil
	}
	var notes []string
	read := b.Value
	b.Value *= factor
	b.StandardUncertainty *= factor
	b.ExpandedUncertainty *= factor
	b.Repeatability *= factor
	if f.FlangeRadiusMM > 0 {
		notes = append(notes, fmt.Sprintf("read at the pinion's flange, %v mm from its axis, the crown wheel held: %.4f mm there is %.4f mm transverse at %v mm of the crown wheel (%d:%d teeth); the stops are as read",
			f.FlangeRadiusMM, read, b.Value, f.WheelRadiusMM, f.WheelTeeth, f.PinionTeeth))
	}
	if deg, err := setup.AngularBacklash(b.Value, f.WheelRadiusMM); err == nil {
		note := fmt.Sprintf("%.4f° of the crown wheel", deg)
		if f.FlangeRadiusMM == 0 {
			note += fmt.Sprintf(" at %v mm, if the plunger lay in the plane of rotation", f.WheelRadiusMM)
		}
		notes = append(notes, note)
	}
	return b, notes
}
