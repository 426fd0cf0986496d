package analysis

import (
	"errors"
	"fmt"
	"math"
)

// How an indicator meets the tooth, and what a manual's figure means.
const (
	Normal     = "normal"     // square to the tooth's face
	Transverse = "transverse" // in the plane of rotation, tangential
	Unknown    = "unknown"
)

// ErrConvention is returned when two backlashes are counted in different ways
// and what would convert them is not known.
var ErrConvention = errors.New("backlash conventions differ and cannot be converted")

// A Convention is how a backlash is counted: along which direction and at which
// radius of the crown wheel.
type Convention struct {
	Direction string  // Normal, Transverse or Unknown
	Radius    float64 // mm from the axis of the crown wheel; 0: unknown
}

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

// ConvertBacklash restates a backlash counted in one convention in another:
// normal and transverse by NormalFactor, the radius in proportion. It returns
// the new value and the factor it was multiplied by. When a direction is
// Unknown and the other is not, or the angles are 0 and needed, or just one
// radius is unknown, it returns ErrConvention and the value as it was.
func ConvertBacklash(v float64, from, to Convention, pressureDeg, spiralDeg float64) (value, factor float64, err error) {
	factor = 1
	if from.Direction != to.Direction {
		n, err := NormalFactor(pressureDeg, spiralDeg)
		switch {
		case from.Direction == Normal && to.Direction == Transverse && err == nil:
			factor = 1 / n
		case from.Direction == Transverse && to.Direction == Normal && err == nil:
			factor = n
		default:
			return v, 1, fmt.Errorf("%w: %q to %q", ErrConvention, from.Direction, to.Direction)
		}
	}
	if from.Radius != to.Radius {
		if !(from.Radius > 0) || !(to.Radius > 0) {
			return v, 1, fmt.Errorf("%w: radius %v mm to %v mm", ErrConvention, from.Radius, to.Radius)
		}
		factor *= to.Radius / from.Radius
	}
	return v * factor, factor, nil
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

// FromAngular returns the transverse backlash at radius of an angle in degrees.
func FromAngular(deg, radius float64) (float64, error) {
	if !(radius > 0) {
		return math.NaN(), fmt.Errorf("radius %v mm is not above 0", radius)
	}
	return deg * math.Pi / 180 * radius, nil
}
