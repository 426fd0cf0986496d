package torque_test

import (
	"fmt"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/torque"
)

func ExampleMeasure() {
	var trace []analysis.Sample
	for i, nm := range []float64{0, 40, 80, 97.5, 30, 0, 0, 50, 98.5, 60, 99.0, 0} {
		trace = append(trace, analysis.Sample{T: float64(i) / 5, X: nm})
	}
	for _, p := range torque.Measure(slices.Values(trace), torque.Options{Target: 98}).Peaks {
		fmt.Printf("%.1f s: %.1f N·m, pulled twice: %v\n", p.Time, p.Value, p.DoubleStrike)
	}
	// Output:
	// 0.6 s: 97.5 N·m, pulled twice: false
	// 2.0 s: 99.0 N·m, pulled twice: true
}

// A wrench of 400 mm with an adapter of 60 mm in line with it.
func ExampleAdapterSetting() {
	fmt.Printf("set %.1f N·m for 100\n", torque.AdapterSetting(100, 400, 60, 0))
	// Output: set 87.0 N·m for 100
}

func ExampleSequence() {
	fmt.Println(torque.Sequence(10))
	// Output: [1 6 3 8 5 10 2 7 4 9]
}
