package setup_test

import (
	"fmt"

	"crownlog/analysis"
	"crownlog/analysis/setup"
)

// A crown wheel whose own run-out is 0.030 mm on a flange that runs out by 0.020,
// the two adding up: half a turn on the flange takes most of it away.
func ExampleReclock() {
	r, err := setup.Reclock([]analysis.Harmonic{{Amplitude: 0.010}}, []analysis.Harmonic{{Amplitude: 0.025}}, 10)
	fmt.Printf("%d holes: from %.3f to %.3f mm %v\n", r.Holes, r.Before, r.After, err)
	// Output: 5 holes: from 0.050 to 0.010 mm <nil>
}

// 0.200 mm read in the plane of rotation, as the manual's normal backlash.
func ExampleConventionFactor() {
	k, err := setup.ConventionFactor(setup.Transverse, setup.Normal, 20, 35)
	fmt.Printf("%.3f mm %v\n", 0.200*k, err)
	// Output: 0.154 mm <nil>
}

func ExampleCheckColumns() {
	doubts, _ := setup.CheckColumns(98, "N·m", 10, "kgf·cm")
	fmt.Println(doubts[0].Kind)
	// Output: kgf-cm-for-kgf-m
}
