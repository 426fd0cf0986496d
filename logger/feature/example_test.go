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
