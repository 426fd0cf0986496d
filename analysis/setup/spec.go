package setup

import (
	"cmp"
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
	"crownlog/analysis/torque"
	"crownlog/analysis/units"
)

// A Doubt is a reason to look at a printed spec again. It never blocks.
type Doubt struct {
	Kind  string    // one of the kinds below
	Of    string    // what is doubted: one of the subjects below
	Args  []float64 // the figures it is about, as each subject says
	Names []string  // the units of columns, thread and class of a bolt
}

// What a Doubt can be about, and its figures.
const (
	OfColumns = "columns"  // the one figure, the other, the other in the unit of the one; Names: both units
	OfBolt    = "bolt"     // the torque, the ceiling of its thread and class, N·m; Names: these
	OfPreload = "preload"  // the torque, the usual least and most, N·m
	OfLimits  = "limits"   // lower, upper
	OfInches  = "inches"   // the upper limit, the same if it were inches, mm
	OfSize    = "size"     // the wheel's diameter, the usual least or most of its backlash, mm
	OfFace    = "face"     // the back face's limit, how far it swings the backlash, the room its spread has, mm
	OfAnySize = "any-size" // the upper limit, the usual most of the largest wheels, mm
	OfGauge   = "gauge"    // of DoubtUndecided the window in uncertainties and the uncertainty it needs, of DoubtCoarse the count and the window
)

// Kinds of doubt.
const (
	DoubtTen       = "factor-of-ten"
	DoubtColumns   = "columns-disagree"
	DoubtKgfCm     = "kgf-cm-for-kgf-m"
	DoubtCeiling   = "above-bolt-ceiling"
	DoubtInches    = "inches-for-mm"
	DoubtTight     = "window-tight-for-size"
	DoubtWide      = "window-wide-for-size"
	DoubtOrder     = "limits-swapped"
	DoubtSwing     = "face-swings-too-far"
	DoubtCoarse    = "gauge-too-coarse"
	DoubtUndecided = "cannot-be-decided"
)

func doubt(kind, of string, args []float64, names ...string) []Doubt {
	return []Doubt{{Kind: kind, Of: of, Args: args, Names: names}}
}

// misprint names the factor that takes v to what is usual, "" where it is none that
// is misprinted.
func misprint(v float64, usual func(float64) bool) string {
	switch {
	case usual(v/10) || usual(v*10):
		return DoubtTen
	case usual(v/100) || usual(v*100):
		return DoubtKgfCm
	}
	return ""
}

// CheckColumns compares one figure printed in two units, such as N·m and
// lbf·ft. They may differ by 6 % of rounding. It returns an error for unknown
// units or units of different kinds.
func CheckColumns(a float64, unitA string, b float64, unitB string) ([]Doubt, error) {
	c, err := units.Convert(b, unitB, unitA)
	if err != nil || a > 0 && math.Abs(a/c-1) <= 0.06 {
		return nil, err
	}
	kind := misprint(a, func(v float64) bool { return v > 0 && math.Abs(v/c-1) <= 0.15 })
	return doubt(cmp.Or(kind, DoubtColumns), OfColumns, []float64{a, b, c}, unitA, unitB), nil
}

// CheckBoltTorque compares a bolt torque in N·m with the ceiling of its thread
// and class. It returns nil for a thread or class not in the tables.
// Source: BoltCeiling; the low end, a fifteenth of it, is own judgement.
func CheckBoltTorque(nm float64, thread, class string) []Doubt {
	ceiling, err := torque.BoltCeiling(thread, class)
	if err != nil || !(nm > 0) || nm <= ceiling && nm >= ceiling/15 {
		return nil
	}
	kind := misprint(nm, func(v float64) bool { return v <= ceiling && v >= 0.2*ceiling })
	if kind == "" && nm < ceiling {
		return nil
	}
	return doubt(cmp.Or(kind, DoubtCeiling), OfBolt, []float64{nm, ceiling}, thread, class)
}

// Usual pinion and total preloads at the pinion, N·m, with room to either side.
// Source: car, light-truck and heavy-axle handbooks: 0.4 to 6.2.
const (
	usualPreloadLow  = 0.3
	usualPreloadHigh = 8
)

// CheckPreload looks for a misprinted preload in N·m.
func CheckPreload(torque float64) []Doubt {
	usual := func(v float64) bool { return v >= usualPreloadLow && v <= usualPreloadHigh }
	if !(torque > 0) || usual(torque) {
		return nil
	}
	return doubt(cmp.Or(misprint(torque, usual), DoubtColumns), OfPreload, []float64{torque, usualPreloadLow, usualPreloadHigh})
}

// CheckWindow compares a backlash window in mm with the size of the crown
// wheel. The floor is common practice: the least backlash is about a thousandth
// of the outside diameter, and half of that is doubted here; the ceiling is
// three times the default window's upper end (own judgement), of the largest
// wheels where the size is not known.
func CheckWindow(l gum.Limits, wheelDiameter float64) []Doubt {
	if l.Lower >= l.Upper {
		return doubt(DoubtOrder, OfLimits, []float64{l.Lower, l.Upper})
	}
	d, err := DefaultWindow(wheelDiameter)
	if err != nil {
		if most := defaultSpecs[len(defaultSpecs)-1].upper; l.Upper > 3*most {
			return doubt(DoubtWide, OfAnySize, []float64{l.Upper, most})
		}
		return nil
	}
	usual := d.Spec.Limits
	if inch := 25.4 * l.Upper; l.Upper < usual.Lower/3 && inch >= usual.Lower/2 && inch <= 3*usual.Upper {
		return doubt(DoubtInches, OfInches, []float64{l.Upper, inch})
	}
	var doubts []Doubt
	if floor := wheelDiameter / 1000; l.Upper < floor/2 || l.Lower < floor/4 {
		doubts = doubt(DoubtTight, OfSize, []float64{wheelDiameter, floor})
	}
	if l.Upper > 3*usual.Upper {
		doubts = append(doubts, doubt(DoubtWide, OfSize, []float64{wheelDiameter, usual.Upper})...)
	}
	return doubts
}

// UsualAxialGain is how many mm the backlash opens for each mm that the crown
// wheel stands away from the pinion, with its standard uncertainty, where the
// geometry does not say: 0.60 to 0.75 is common practice.
const (
	UsualAxialGain  = 0.65
	UsualAxialGainU = 0.15
)

// CheckFace doubts a limit of the back face's run-out, mm, that lets the wheel
// swing the backlash further than its spread has room: then a face that is inside
// makes a backlash that is not. gain is GeometricGain's or the usual one.
func CheckFace(face, gain float64, backlash analysis.RoundSpec) []Doubt {
	swing, room := gain*face, spreadLimit(backlash)
	if !gum.Below(room, swing) {
		return nil
	}
	return doubt(DoubtSwing, OfFace, []float64{face, swing, room})
}

// CheckGauge says, before anything is measured, whether a gauge of this
// resolution and permissible error (half width, 0: none counted), with readings
// that repeat to repeatability (standard deviation of the mean), can decide the
// window at all. All in the unit of l.
// Source: JCGM 106:2012, 7.6.3; a tenth of the window as the largest step is
// common practice.
func CheckGauge(l gum.Limits, resolution, mpe, repeatability float64) []Doubt {
	width := l.Width()
	if math.IsInf(width, 1) || !(width > 0) {
		return nil
	}
	// The difference of two readings carries the step twice.
	u := math.Sqrt(2*stat.Square(gum.Resolution(resolution)) + stat.Square(gum.Rectangular(mpe)) + stat.Square(repeatability))
	if ratio, decidable := gum.Capability(l, u); !decidable {
		return doubt(DoubtUndecided, OfGauge, []float64{ratio, width / (2 * gum.HalfWidthFactor)})
	}
	if resolution > width/10 {
		return doubt(DoubtCoarse, OfGauge, []float64{resolution, width})
	}
	return nil
}

// A DefaultSpec is a window offered when the manual is missing. It is to be
// confirmed by the maker's manual, and everything that shows it says so.
type DefaultSpec struct {
	Spec     analysis.RoundSpec // backlash, mm
	BackFace float64            // largest run-out of the back face, mm
	Source   string
}

// defaultSpecs are common figures by crown wheel diameter; the bands are this
// table's own grouping. Handbooks have spreads of up to 0.10 and faces of up to
// 0.10 for wheels below 270: with every position inside, the one would never
// bind, and the other swings the backlash by as much as these windows are wide.
var defaultSpecs = []struct {
	below, lower, upper, spread, backFace float64 // mm
	source                                string
}{
	{180, 0.10, 0.15, 0.05, 0.05, "car final-drive handbooks"},
	{215, 0.13, 0.18, 0.05, 0.05, "four-wheel-drive and light-truck handbooks"},
	{270, 0.13, 0.20, 0.05, 0.05, "light-truck axle handbooks"},
	{432, 0.20, 0.46, math.NaN(), 0.20, "heavy-truck axle handbooks"},
	{1000, 0.25, 0.51, math.NaN(), 0.20, "heavy-truck axle handbooks"},
}

// DefaultWindow returns the usual backlash window for a crown wheel of that
// outside diameter in mm. It returns an error outside 80 to 1000 mm.
// Source: common practice in axle handbooks, named in the result.
func DefaultWindow(wheelDiameter float64) (DefaultSpec, error) {
	for _, d := range defaultSpecs {
		if wheelDiameter >= 80 && wheelDiameter < d.below {
			limits := gum.Limits{Lower: d.lower, Upper: d.upper, Unit: "mm"}
			return DefaultSpec{
				analysis.RoundSpec{Limits: limits, MaxSpread: d.spread, Floor: math.NaN(), Rule: analysis.RuleAllInside},
				d.backFace, "default from " + d.source + "; to be confirmed by the maker's manual",
			}, nil
		}
	}
	return DefaultSpec{}, fmt.Errorf("no usual backlash for a crown wheel of %v mm", wheelDiameter)
}
