package setup

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

// How an indicator meets the tooth, and what a manual's figure means.
const (
	Normal     = "normal"     // square to the tooth's face
	Transverse = "transverse" // in the plane of rotation, tangential
)

// other is the direction that a known one is not.
var other = map[string]string{Normal: Transverse, Transverse: Normal}

// NormalFactor returns cos(α)·cos(β), what a transverse backlash is multiplied
// by to give the normal one at the same place: jnn = jtt·cos(α)·cos(β), with α
// the normal pressure angle and β the mean spiral angle in degrees.
// Source: ISO 21771 (from memory, no clause at hand) and general gear handbooks;
// reproduced by own derivation.
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
		if other[direction] == "" {
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

// ConventionFactors lists what a manual's backlash in direction spec may have to
// be multiplied by to hold for one read in direction measured, where Normal or
// Transverse is known of one of them, or of both but not the angles (0). Known
// angles leave one factor for each direction that is possible; without them the
// usual gap between normal and transverse is gone through in small steps. With
// both known and the angles, it is the one ConventionFactor; with neither, the
// plunger is taken to be set up as the manual says, which is 1.
// Source: ConventionFactor; 1.17 to 1.32 are own arithmetic for a pressure angle
// of 20 to 22.5° and a spiral angle of 25 to 35°.
func ConventionFactors(spec, measured string, pressureDeg, spiralDeg float64) []float64 {
	var factors []float64
	switch {
	case spec == measured, other[spec] == "" && other[measured] == "":
		return []float64{1}
	case other[spec] == "":
		spec, factors = other[measured], []float64{1}
	case other[measured] == "":
		measured, factors = other[spec], []float64{1}
	}
	if k, err := ConventionFactor(spec, measured, pressureDeg, spiralDeg); err == nil && spiralDeg > 0 {
		return append(factors, k)
	}
	for _, gap := range []float64{1.17, 1.19, 1.21, 1.23, 1.25, 1.27, 1.29, 1.32} {
		if measured == Normal {
			gap = 1 / gap
		}
		factors = append(factors, gap)
	}
	return factors
}

// JudgeConventions is gum.Judge where the limits may have to be multiplied by any of
// the factors. Where the verdict is not the same for all of them it is too close
// to call, with the reason OneConventionOnly.
func JudgeConventions(value, u float64, l gum.Limits, factors []float64) gum.Decision {
	first := gum.Judge(value, u, l.Times(factors[0]))
	for _, f := range factors[1:] {
		d := gum.Judge(value, u, l.Times(f))
		first.Probability = math.Min(first.Probability, d.Probability)
		if d.Verdict != first.Verdict && first.Reason == "" {
			first.Verdict, first.Reason = gum.TooClose, gum.OneConventionOnly
		}
	}
	return first
}

// AnalyseConventions is AnalyseRound where the limits of spec may have to be
// multiplied by any of the factors, judged as JudgeConventions does. The rest of
// the result is by the first of them.
func AnalyseConventions(p []analysis.RoundPoint, positions int, spec analysis.RoundSpec, factors []float64) analysis.Round {
	var first analysis.Round
	for i, f := range factors {
		by := spec
		by.Limits, by.MaxSpread, by.Floor = spec.Limits.Times(f), spec.MaxSpread*f, spec.Floor*f
		r := analysis.AnalyseRound(p, positions, by)
		switch {
		case i == 0:
			first = r
		case r.Verdict != first.Verdict && first.Verdict != gum.NotDecided:
			first.Verdict, first.Why = gum.TooClose, analysis.Why{Part: analysis.PartConvention, Reason: gum.OneConventionOnly}
		}
	}
	return first
}
