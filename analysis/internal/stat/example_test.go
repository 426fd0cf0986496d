package stat_test

import (
	"fmt"

	"crownlog/analysis/internal/stat"
)

// The step that a display counts in.
func ExampleDisplayStep() {
	fmt.Printf("%.3f mm\n", stat.DisplayStep([]float64{0.100, 0.102, 0.108, 0.106}))
	// Output: 0.002 mm
}
