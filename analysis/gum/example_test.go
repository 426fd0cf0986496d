package gum_test

import (
	"fmt"
	"math"

	"crownlog/analysis/gum"
)

// A reading of 0.19 mm, of a gauge of 0.01 mm, in the mean of five rocks that
// scatter by 0.004 mm.
func ExampleCombine() {
	b, err := gum.Combine([]gum.Component{
		{Name: "resolution", U: gum.Resolution(0.01), Sensitivity: 1, DoF: math.Inf(1)},
		{Name: "rocks", U: 0.004 / math.Sqrt(5), Sensitivity: 1, DoF: 4},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	u, decimals := gum.RoundU(gum.Coverage * b.Stated())
	fmt.Printf("0.190 ± %.*f mm\n", decimals, u)
	// Output: 0.190 ± 0.0068 mm
}

func ExampleJudge() {
	window := gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}
	for _, mm := range []float64{0.17, 0.199, 0.21} {
		d := gum.Judge(mm, 0.003, window)
		fmt.Printf("%.3f mm: %s, %.0f %% likely within\n", mm, d.Verdict, 100*d.Probability)
	}
	// Output:
	// 0.170 mm: inside, 100 % likely within
	// 0.199 mm: too close to call, 63 % likely within
	// 0.210 mm: outside, 0 % likely within
}
