package motion_test

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/motion"
)

// A wheel turned two and a half times, read ten times a second.
func ExampleFindTurn() {
	var s []analysis.Sample
	for i := range 500 {
		t := float64(i) / 10
		s = append(s, analysis.Sample{T: t, X: math.Round(1000*(0.03*math.Cos(2*math.Pi*t/20)+0.01*math.Cos(4*math.Pi*t/20+1))) / 1000})
	}
	turn := motion.FindTurn(s)
	fmt.Printf("%.1f turns of %.0f s\n", turn.Turns, turn.Period)
	// Output: 2.5 turns of 20 s
}
