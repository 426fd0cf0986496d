package rocking_test

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/rocking"
)

// rocked is a wheel of 0.160 mm backlash rocked six times, read ten times a
// second by a gauge of 0.001 mm.
func rocked() (s []analysis.Sample) {
	for i := range 10 * 2 * 6 {
		x := 0.080 * math.Max(-1, math.Min(1, 4*math.Sin(math.Pi*(float64(i)+0.5)/10)))
		s = append(s, analysis.Sample{T: float64(i) / 10, X: math.Round(1000*x) / 1000})
	}
	return s
}

func ExampleMeasure() {
	b := rocking.Measure(rocked(), rocking.Options{Resolution: 0.001})
	fmt.Printf("%.3f mm from %d rocks, refused: %v, faults: %v\n", b.Value, b.Rocks, b.Refused, b.Faults)
	// Output: 0.159 mm from 6 rocks, refused: false, faults: []
}

// Live, the same detector tells what it sees.
func ExampleRocking_Add() {
	r := rocking.New(rocking.Options{Resolution: 0.001})
	for _, s := range rocked()[:50] {
		for _, e := range r.Add(s) {
			fmt.Printf("%.1f s: %s, rocks %d\n", e.T, e.Kind, e.Rocks)
		}
	}
	// Output:
	// 0.2 s: stop, rocks 0
	// 1.2 s: stop, rocks 0
	// 1.2 s: rock, rocks 1
	// 2.2 s: stop, rocks 1
	// 3.2 s: stop, rocks 1
	// 3.2 s: rock, rocks 2
	// 4.2 s: stop, rocks 2
}
