package rocking

import (
	"math"

	"crownlog/analysis/gum"
)

// How well a fitter knows the set-up, half-widths: an angle by eye to 2°, a
// ratio of radii to 1 %.
const (
	angleDoubt  = 2    // degrees
	radiusDoubt = 0.01 // of the ratio
)

// PlungerFactor takes what an indicator reads to the backlash at the heel, in
// line with its motion: an indicator tilted by θ reads 1/cos θ too much, and
// one at a smaller radius too little in proportion. radiusRatio is the heel's
// radius over the contact's; 0 leaves it out.
func PlungerFactor(tiltDeg, radiusRatio float64) float64 {
	f := math.Cos(tiltDeg * math.Pi / 180)
	if radiusRatio > 0 {
		f *= radiusRatio
	}
	return f
}

// PlungerDoubts lists the doubts that PlungerFactor brings to a corrected
// backlash v, in its unit.
func PlungerDoubts(v, tiltDeg, radiusRatio float64) []gum.Component {
	inf := math.Inf(1)
	var cs []gum.Component
	if tiltDeg != 0 {
		cs = append(cs, gum.Component{Name: "angle of the plunger", U: gum.Rectangular(angleDoubt * math.Pi / 180), Sensitivity: v * math.Tan(tiltDeg*math.Pi/180), DoF: inf})
	}
	if radiusRatio > 0 {
		cs = append(cs, gum.Component{Name: "radius of the contact", U: gum.Rectangular(radiusDoubt), Sensitivity: v, DoF: inf})
	}
	return cs
}
