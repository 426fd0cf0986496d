package stat_test

import (
	"fmt"

	"crownlog/analysis/internal/stat"
)

// A gauge that creeps by 2 µm a minute, and the step that its display counts in.
func ExampleLinearFit() {
	minutes, mm := []float64{0, 1, 2, 3}, []float64{0.100, 0.102, 0.104, 0.106}
	line, err := stat.LinearFit(minutes, mm)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm a minute in steps of %.3f mm\n", line.Slope, stat.DisplayStep(mm))
	// Output: 0.002 mm a minute in steps of 0.002 mm
}
