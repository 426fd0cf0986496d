package sheet

import (
	"fmt"
	"math"

	"crownlog/analysis/setup"
)

// AxialGain is how many mm the backlash opens, as the plunger reads it, for each
// mm that the crown wheel stands away from the pinion, by the gear set's geometry.
func (s Sheet) AxialGain() (float64, error) {
	g := s.GearSet
	normal := s.Plunger.Measured != setup.Transverse
	return setup.GeometricGain(g.PinionTeeth, g.WheelTeeth, g.PressureAngleDeg, g.SpiralAngleDeg, normal)
}

// MoveUnit is what moves are counted in: mm of shim, or notches.
func (s Sheet) MoveUnit() string {
	if s.Adjuster.Kind == "shims" {
		return "mm"
	}
	return "notch"
}

// Beyond these a move is likely a slip of the keyboard: the whole way from too
// tight to too loose is less. Common practice, no source.
const (
	mostNotches = 20
	mostShimMM  = 1.0

	leastShimMM = 0.01 // thinner ones are not made
	mostStackMM = 20   // no axle has thicker
)

// DoubtMove says why a move may be a slip of the keyboard, "" if it is usual.
func (s Sheet) DoubtMove(amount float64) string {
	switch turn := float64(s.Adjuster.Notches); {
	case s.Adjuster.Kind == "shims" && math.Abs(amount) > mostShimMM:
		return fmt.Sprintf("%g mm of shim is more than any set-up needs", amount)
	case s.Adjuster.Kind != "shims" && turn > 0 && math.Abs(amount) > turn:
		return fmt.Sprintf("%g notches is more than a whole turn of the adjuster", amount)
	case s.Adjuster.Kind != "shims" && math.Abs(amount) > mostNotches:
		return fmt.Sprintf("%g notches is more than any set-up needs", amount)
	}
	return ""
}
