package sheet

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger/record"
)

// Window is the spec of a feature in the feature's own unit, whatever unit the
// sheet has it in. A limit that the sheet lacks is NaN. The window of bolts is
// their target with its tolerance, and that of backlash holds for the plunger
// as it is set up: see PlungerFactor.
func (s Sheet) Window(name string) analysis.RoundSpec {
	f := record.FeatureOf(name)
	spec := OpenSpec(f.Unit)
	if b, ok := s.BoltList(name); ok {
		target, tol := b.TargetNm(), b.Tolerance()
		spec.Limits.Lower, spec.Limits.Upper = target*(1-tol), target*(1+tol)
		return spec
	}
	w, ok := s.Printed(name)
	if !ok {
		return spec
	}
	factor := 1.0
	if name == record.FeatureBacklash {
		factor, _ = s.PlungerFactor()
	}
	limit := func(p *float64) float64 {
		if p == nil {
			return math.NaN()
		}
		v, err := f.Convert(*p, w.Unit)
		if err != nil {
			return math.NaN()
		}
		return units.RoundTo(v*factor, 1e-9)
	}
	spec.Limits.Lower, spec.Limits.Upper = limit(w.Lower), limit(w.Upper)
	spec.MaxSpread, spec.Floor = limit(w.MaxSpread), limit(w.Floor)
	if w.Rule != "" {
		spec.Rule = w.Rule
	}
	return spec
}

// OpenSpec has no limit at all.
func OpenSpec(unit string) analysis.RoundSpec {
	return analysis.RoundSpec{
		Limits:    gum.NoLimits(unit),
		MaxSpread: math.NaN(),
		Floor:     math.NaN(),
		Rule:      analysis.RuleAllInside,
	}
}

// InStage is the sheet with the windows that hold in a stage alone.
func (s Sheet) InStage(stage string) Sheet {
	s.Windows = slices.DeleteFunc(slices.Clone(s.Windows), func(w Window) bool {
		own := slices.ContainsFunc(s.Windows, func(o Window) bool { return o.Feature == w.Feature && o.Stage == stage })
		return w.Stage != stage && (w.Stage != "" || own)
	})
	return s
}

// Printed is the window of a feature as the sheet has it.
func (s Sheet) Printed(name string) (Window, bool) {
	return first(s.Windows, func(w Window) bool { return w.Feature == name })
}

func first[T any](list []T, is func(T) bool) (found T, ok bool) {
	for _, v := range list {
		if is(v) {
			return v, true
		}
	}
	return found, false
}

// PlungerFactor is what the manual's backlash window is multiplied by to hold
// for the backlash as it is read: from transverse to normal cos(alpha)*cos(beta),
// the other way its inverse. It is false when it cannot be known, because a
// convention or, where they differ, an angle is missing; then the factor is 1.
// Source: the relation of normal and transverse backlash of a spiral tooth,
// jn = jt cos(alpha_n) cos(beta).
func (s Sheet) PlungerFactor() (factor float64, known bool) {
	k, err := setup.ConventionFactor(s.Plunger.Spec, s.Plunger.Measured, s.GearSet.PressureAngleDeg, s.GearSet.SpiralAngleDeg)
	if err != nil {
		return 1, false
	}
	return k, true
}

// WindowFactors are what Window may have to be multiplied by, where the
// direction of the backlash it means, or of the one that was read, is in doubt.
func (s Sheet) WindowFactors(name string) []float64 {
	if _, known := s.PlungerFactor(); known || name != record.FeatureBacklash {
		return []float64{1}
	}
	return setup.ConventionFactors(s.Plunger.Spec, s.Plunger.Measured, s.GearSet.PressureAngleDeg, s.GearSet.SpiralAngleDeg)
}

func conventionKnown(c string) bool { return c == setup.Normal || c == setup.Transverse }

// RadiusRatio corrects a plunger that does not stand at the heel; 1 when
// either radius is unknown.
func (s Sheet) RadiusRatio() float64 {
	if s.Plunger.ContactRadius <= 0 || s.Plunger.HeelRadius <= 0 {
		return 1
	}
	return s.Plunger.HeelRadius / s.Plunger.ContactRadius
}

// RunoutOptions are what the sheet says of the gauge that reads a run-out.
func (s Sheet) RunoutOptions() runout.Options {
	return runout.Options{Resolution: s.Gauge.ResolutionMM, MPE: s.Gauge.MPEMM}
}

// UnitFor is the unit the manual prints a feature's figure in, which is what a
// fitter sets a wrench by and types; the feature's own where the sheet has none.
func (s Sheet) UnitFor(name string) string {
	b, _ := s.BoltList(name)
	w, _ := s.Printed(name)
	return cmp.Or(b.Unit, w.Unit, record.FeatureOf(name).Unit)
}

// Length writes a length in mm, and behind it its uncertainty where that is known, in
// the unit that the manual prints the backlash in, to about the micrometre: "0.152 mm",
// "0.0060 ± 0.0004 in", "6.0 thou".
func (s Sheet) Length(mm ...float64) string {
	unit := s.UnitFor(record.FeatureBacklash)
	k, _ := units.Convert(1, "mm", unit) // the unit is one of the sheet's
	var figures []string
	for i, v := range mm {
		if i > 0 && !(v > 0) {
			break
		}
		figures = append(figures, units.Fixed(v*k, max(0, 3-int(math.Round(math.Log10(k))))))
	}
	return strings.Join(figures, " ± ") + " " + unit
}

// PrintedWindow is the window of a feature as the manual prints it, "9 to
// 14 lbf·in"; "" where there is none or it is in the feature's own unit anyway.
func (s Sheet) PrintedWindow(name string) string {
	w, _ := s.Printed(name)
	if w.Unit == "" || w.Unit == record.FeatureOf(name).Unit {
		return ""
	}
	return w.LimitsAs("at least ", "at most ", " "+w.Unit)
}

// LimitsAs is a window's limits as printed, "9 to 14 lbf·in", or the one there is
// behind least or most; "" where there is none. unit stands last.
func (w Window) LimitsAs(least, most, unit string) string {
	switch {
	case w.Lower != nil && w.Upper != nil:
		return units.Exact(*w.Lower) + " to " + units.Exact(*w.Upper) + unit
	case w.Upper != nil:
		return most + units.Exact(*w.Upper) + unit
	case w.Lower != nil:
		return least + units.Exact(*w.Lower) + unit
	}
	return ""
}
