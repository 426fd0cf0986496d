package logger

import (
	"fmt"
	"slices"

	"crownlog/analysis/units"
)

// A featureKind is the way a feature is measured.
type featureKind int

const (
	kindRocking featureKind = iota + 1 // rock at each position
	kindRunout                         // one level at each position, or a steady turn
	kindBolts                          // one pull for each bolt and pass
	kindTurning                        // torque while turning
	kindLeak                           // pressure over time
	kindPattern                        // where the contact lies: along, then up
	kindCount                          // one keyed value for each position
	kindText                           // words only: recorded, not measured
)

// A feature is what the package knows of one thing that can be measured.
type feature struct {
	name     string
	title    string
	unit     string // captures are kept in it
	quantity string // units that can be converted to it share it
	kind     featureKind
}

// featureOrder is the order of Features.
var featureOrder = []feature{
	{FeatureBacklash, "backlash", "mm", "length", kindRocking},
	{FeatureRunoutFlange, "run-out of the carrier flange", "mm", "length", kindRunout},
	{FeatureRunoutBore, "run-out of the pilot", "mm", "length", kindRunout},
	{FeatureWheelBolts, "crown wheel bolts", "N·m", "torque", kindBolts},
	{FeatureRunoutBackFace, "run-out of the back face", "mm", "length", kindRunout},
	{FeaturePreloadPinion, "pinion preload", "N·m", "torque", kindTurning},
	{FeaturePreloadTotal, "total preload", "N·m", "torque", kindTurning},
	{FeaturePatternDrive, "contact pattern, drive flank", "", "", kindPattern},
	{FeaturePatternCoast, "contact pattern, coast flank", "", "", kindPattern},
	{FeatureCapBolts, "bearing cap bolts", "N·m", "torque", kindBolts},
	{FeatureLeakDown, "air test", "kPa/min", "leak", kindLeak},
	{FeatureEngagement, "engagement of the lock", "s", "time", kindCount},
	{FeatureOilFill, "oil fill", "L", "volume", kindCount},
	{FeatureMove, "adjuster move", "", "", kindText},
	{FeatureNote, "note", "", "", kindText},
	{FeatureOverride, "hold point overridden", "", "", kindText},
}

var features = func() map[string]feature {
	m := make(map[string]feature, len(featureOrder))
	for _, f := range featureOrder {
		m[f.name] = f
	}
	return m
}()

// Features lists the features a round can measure, in trade order.
func Features() []string {
	var names []string
	for _, f := range featureOrder {
		if f.kind != kindText {
			names = append(names, f.name)
		}
	}
	return names
}

// FeatureTitle is a feature in plain words, "crown wheel bolts"; an unknown
// one is its own title.
func FeatureTitle(name string) string {
	if f, ok := features[name]; ok {
		return f.title
	}
	return name
}

// FeatureUnit is the unit captures of a feature are kept in; "" for features
// without one. It is false for an unknown feature.
func FeatureUnit(name string) (string, bool) {
	f, ok := features[name]
	return f.unit, ok
}

// ReadIn reports whether a feature can be measured with a gauge that reads in
// unit: an air test is read as a pressure though it is kept as a rate. "" is a
// gauge that names its units itself.
func ReadIn(name, unit string) bool {
	f := features[name]
	switch f.kind {
	case kindRocking, kindRunout, kindBolts, kindTurning, kindLeak:
	default:
		return false
	}
	_, err := toFeatureUnit(0, unit, readingFeature(f, false))
	return err == nil
}

// ownUnits lists, for quantities analysis does not convert, how many of the
// feature's unit one of each is. A quart is the US liquid quart. Source: NIST
// SP 811 (2008), appendix B.8.
var ownUnits = map[string]map[string]float64{
	"time":   {"s": 1, "min": 60, "ms": 0.001},
	"volume": {"L": 1, "l": 1, "ml": 0.001, "mL": 0.001, "qt": 0.946352946},
	"leak":   {"kPa/min": 1, "bar/min": 100, "psi/min": 6.894757293168361},
}

// toFeatureUnit converts v to the feature's unit; an empty unit is the
// feature's own.
func toFeatureUnit(v float64, unit string, f feature) (float64, error) {
	if unit == "" || unit == f.unit {
		return v, nil
	}
	if units, ok := ownUnits[f.quantity]; ok {
		k, ok := units[unit]
		if !ok {
			return 0, unitError(unit, f)
		}
		return v * k, nil
	}
	if f.quantity == "" {
		return 0, unitError(unit, f)
	}
	converted, err := units.Convert(v, unit, f.unit)
	if err != nil {
		return 0, unitError(unit, f)
	}
	return converted, nil
}

func unitError(unit string, f feature) error {
	switch f.quantity {
	case "length":
		return fmt.Errorf("unit %q: want mm, µm, in or thou", unit)
	case "torque":
		return fmt.Errorf("unit %q: want N·m, lbf·ft, lbf·in, kgf·m or kgf·cm", unit)
	case "pressure":
		return fmt.Errorf("unit %q: want kPa, bar, psi or MPa", unit)
	case "":
		return fmt.Errorf("unit %q: %s has no unit", unit, f.title)
	}
	var allowed []string
	for u := range ownUnits[f.quantity] {
		allowed = append(allowed, u)
	}
	slices.Sort(allowed)
	return fmt.Errorf("unit %q: want one of %q", unit, allowed)
}
