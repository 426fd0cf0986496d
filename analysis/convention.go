package analysis

import (
	"fmt"
	"math"
)

// How an indicator meets the tooth, and what a manual's figure means.
const (
	Normal     = "normal"     // square to the tooth's face
	Transverse = "transverse" // in the plane of rotation, tangential
)

// NormalFactor returns cos(α)·cos(β), what a transverse backlash is multiplied
// by to give the normal one at the same place: jnn = jtt·cos(α)·cos(β), with α
// the normal pressure angle and β the mean spiral angle in degrees.
// Source: ISO 21771 and general gear handbooks; reproduced by own derivation.
func NormalFactor(pressureDeg, spiralDeg float64) (float64, error) {
	if !(pressureDeg > 0 && pressureDeg < 45) || !(spiralDeg >= 0 && spiralDeg < 60) {
		return 0, fmt.Errorf("pressure angle %v° with spiral angle %v° is no gear tooth", pressureDeg, spiralDeg)
	}
	return math.Cos(pressureDeg*math.Pi/180) * math.Cos(spiralDeg*math.Pi/180), nil
}

// ConventionFactor returns what a backlash in direction from, Normal or
// Transverse, is multiplied by to give it in direction to at the same place.
// It fails when the directions differ and one of them or the angles are not
// known. Source: as NormalFactor.
func ConventionFactor(from, to string, pressureDeg, spiralDeg float64) (float64, error) {
	for _, direction := range []string{from, to} {
		if direction != Normal && direction != Transverse {
			return 0, fmt.Errorf("direction %q of a backlash: want %s or %s", direction, Normal, Transverse)
		}
	}
	if from == to {
		return 1, nil
	}
	k, err := NormalFactor(pressureDeg, spiralDeg)
	if err == nil && from == Normal {
		k = 1 / k
	}
	return k, err
}

// ConventionDoubt returns the standard uncertainty of a backlash v whose
// direction is not known: it may be the one or the other, up to 1.17 to 1.32
// times apart, taken as rectangular over that gap. The angles may be 0; then
// the widest usual gap counts.
// Source: own arithmetic, pressure angle 20 to 22.5°, spiral angle 25 to 35°.
func ConventionDoubt(v, pressureDeg, spiralDeg float64) float64 {
	n, err := NormalFactor(pressureDeg, spiralDeg)
	if err != nil || spiralDeg == 0 {
		n = 1 / 1.32
	}
	return Rectangular(math.Abs(v) * (1 - n) / 2)
}

// FlangeBacklash turns a movement read at the pinion flange, at flangeRadius
// mm from the pinion's axis, into backlash at the crown wheel's wheelRadius:
//
//	backlash = reading · wheelRadius / (flangeRadius · ratio)
//
// with ratio = wheel teeth / pinion teeth. It is a transverse backlash.
// Source: common practice; a handbook's "divide by two" is this at its radii.
func FlangeBacklash(reading, flangeRadius, wheelRadius float64, pinionTeeth, wheelTeeth int) (float64, error) {
	if !(flangeRadius > 0) || !(wheelRadius > 0) || pinionTeeth < 1 || wheelTeeth < 1 {
		return math.NaN(), fmt.Errorf("flange radius %v mm, wheel radius %v mm, teeth %d/%d: all must be above 0", flangeRadius, wheelRadius, pinionTeeth, wheelTeeth)
	}
	return reading * wheelRadius / (flangeRadius * float64(wheelTeeth) / float64(pinionTeeth)), nil
}

// AngularBacklash returns a transverse backlash read at radius as an angle of
// the crown wheel in degrees. Source: j = r·θ.
func AngularBacklash(transverse, radius float64) (float64, error) {
	if !(radius > 0) {
		return math.NaN(), fmt.Errorf("radius %v mm is not above 0", radius)
	}
	return transverse / radius * 180 / math.Pi, nil
}
