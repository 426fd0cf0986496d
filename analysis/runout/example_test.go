package runout_test

import (
	"fmt"

	"crownlog/analysis/runout"
)

func ExampleMeasure() {
	var points []runout.Point
	for i, mm := range []float64{0.060, 0.052, 0.030, 0.009, 0.001, 0.008, 0.031, 0.051} {
		points = append(points, runout.Point{AngleDeg: 45 * float64(i), Value: mm})
	}
	r := runout.Measure(points, runout.Options{Resolution: 0.001})
	fmt.Printf("%.3f mm full indicator movement, once a turn %.3f mm with its high spot at %.0f°, re-seated %.3f mm\n",
		r.FIM, 2*r.H1.Amplitude, r.H1.PhaseDeg, r.FIMIfReseated)
	// Output: 0.060 mm full indicator movement, once a turn 0.060 mm with its high spot at 0°, re-seated 0.002 mm
}

// One reading stands out: a slip, or a bump. It counts until it is read again.
func ExampleMeasure_doubtful() {
	var points []runout.Point
	for i, mm := range []float64{0, 0.004, 0.006, 0.002, 0.001, 0.003, 0.005, 0.150} {
		points = append(points, runout.Point{AngleDeg: 45 * float64(i), Value: mm})
	}
	r := runout.Measure(points, runout.Options{Resolution: 0.001})
	fmt.Printf("%.3f mm, in doubt: position %d\n", r.FIM, r.Doubtful[0]+1)
	// Output: 0.150 mm, in doubt: position 8
}
