package analysis_test

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

func ExampleAnalyseRound() {
	var points []analysis.RoundPoint
	for i, mm := range []float64{0.17, 0.16, 0.155, 0.21} {
		points = append(points, analysis.RoundPoint{Position: i + 1, AngleDeg: 90 * float64(i), Value: mm, U: 0.002})
	}
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, MaxSpread: 0.08, Floor: math.NaN(), Rule: analysis.RuleAllInside}
	r := analysis.AnalyseRound(points, 4, spec)
	fmt.Printf("mean %.3f, spread %.3f, tightest at %.0f°\n", r.Mean, r.Spread, r.Tightest.AngleDeg)
	fmt.Println(r.Verdict, "by the", r.Why.Part, r.Why.Positions)
	// Output:
	// mean 0.174, spread 0.055, tightest at 180°
	// outside by the positions [4]
}

func ExampleCompareStages() {
	before := []analysis.RoundPoint{{Position: 1, Value: 0.170, U: 0.002}, {Position: 2, Value: 0.180, U: 0.002}}
	after := []analysis.RoundPoint{{Position: 1, Value: 0.141, U: 0.002}, {Position: 2, Value: 0.149, U: 0.002}}
	c := analysis.CompareStages(before, after, analysis.Same{})
	fmt.Printf("%+.3f mm, significant: %v\n", c.Mean, c.Significant)
	// Output: -0.030 mm, significant: true
}
