package feature_test

import (
	"fmt"
	"time"

	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// What a job says of a back face that was read at six of its eight places.
func ExampleAssess() {
	var captures []record.Capture
	for i, level := range []float64{0, 0.012, 0.020, 0.024, 0.019, 0.011} {
		c := record.Blank(record.StageBench, record.FeatureRunoutBackFace, time.Time{})
		c.ID, c.Position, c.AngleDeg, c.Value, c.U = i+1, i+1, 45*float64(i), level, 0.002
		captures = append(captures, c)
	}
	a := feature.Assess(sheet.Example(), captures, record.StageBench, record.FeatureRunoutBackFace)
	fmt.Printf("%d of %d: %s, %s\n", a.Measured, a.Needed, a.Verdict, a.Reason())
	// Output: 6 of 8: not decided, not measured: positions 7 and 8
}

// What may be typed for a backlash read at a dial of 0.01 mm a division.
func ExampleParseTyped() {
	for _, line := range []string{"0,18 mm", "3 1/2 div", "7 thou", "soft"} {
		values, err := feature.ParseTyped(record.FeatureBacklash, line, 0.01)
		fmt.Println(values, err)
	}
	torque, err := feature.ParseTyped(record.FeaturePreloadPinion, "40 N x 50 mm", 0)
	fmt.Println(torque, err)
	// Output:
	// [{0.18 mm}] <nil>
	// [{0.035 mm}] <nil>
	// [{0.007 in}] <nil>
	// [] not one value: want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div
	// [{2 N·m}] <nil>
}
