package record

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"crownlog/analysis/units"
)

// A Feature is one thing that can be recorded: its names and its unit, not how
// it is measured.
type Feature struct {
	Name     string
	Title    string
	Unit     string // captures are kept in it
	Quantity string // units that can be converted to it share it
}

// featureOrder is the order of Features, and behind them what is only written
// down.
var featureOrder = []Feature{
	{FeatureBacklash, "backlash", "mm", "length"},
	{FeatureSnug, "backlash, caps snug", "mm", "length"},
	{FeatureRunoutFlange, "run-out of the carrier flange", "mm", "length"},
	{FeatureRunoutBore, "run-out of the pilot", "mm", "length"},
	{FeatureWheelBolts, "crown wheel bolts", "N·m", "torque"},
	{FeatureRunoutBackFace, "run-out of the back face", "mm", "length"},
	{FeaturePreloadPinion, "pinion preload", "N·m", "torque"},
	{FeaturePreloadTotal, "total preload", "N·m", "torque"},
	{FeaturePatternDrive, "contact pattern, drive flank", "", ""},
	{FeaturePatternCoast, "contact pattern, coast flank", "", ""},
	{FeatureCapBolts, "bearing cap bolts", "N·m", "torque"},
	{FeatureLeakDown, "air test", "kPa/min", "leak"},
	{FeatureEngagement, "engagement of the lock", "s", "time"},
	{FeatureCloseUp, "closing up", "", ""},
	{FeatureOilFill, "oil fill", "L", "volume"},
	{FeatureMove, "adjuster move", "", ""},
	{FeatureNote, "note", "", ""},
	{FeatureOverride, "hold point skipped", "", ""},
	{FeatureCheck, "seen to", "", ""},
}

var features = func() map[string]Feature {
	m := make(map[string]Feature, len(featureOrder))
	for _, f := range featureOrder {
		m[f.Name] = f
	}
	return m
}()

// FeatureOf is the feature of that name, its zero value for an unknown one.
func FeatureOf(name string) Feature { return features[name] }

// writtenDown is what is not measured: a window for it, or a round of it, means
// nothing.
var writtenDown = []string{FeatureMove, FeatureNote, FeatureOverride, FeatureCheck}

// IsMeasured reports whether a feature is known and has to be measured.
func IsMeasured(name string) bool {
	_, known := features[name]
	return known && !slices.Contains(writtenDown, name)
}

// IsBacklash reports whether a feature is rocked at the crown wheel's teeth.
func IsBacklash(name string) bool { return name == FeatureBacklash || name == FeatureSnug }

// IsPreload reports whether a feature is a preload.
func IsPreload(name string) bool { return name == FeaturePreloadPinion || name == FeaturePreloadTotal }

// Features lists the features a round can measure, in trade order.
func Features() []string {
	var names []string
	for _, f := range featureOrder {
		if IsMeasured(f.Name) {
			names = append(names, f.Name)
		}
	}
	return names
}

// Title is a feature in plain words, "crown wheel bolts"; an unknown
// one is its own title.
func Title(name string) string { return cmp.Or(features[name].Title, name) }

// UnitOf is the unit captures of a feature are kept in; "" for features
// without one. It is false for an unknown feature.
func UnitOf(name string) (string, bool) {
	f, ok := features[name]
	return f.Unit, ok
}

// OwnUnits lists, for quantities analysis does not convert, how many of the
// feature's unit one of each is. A quart is the US liquid quart. Source: NIST
// SP 811 (2008), appendix B.8.
var OwnUnits = map[string]map[string]float64{
	"time":   {"s": 1, "min": 60, "ms": 0.001},
	"volume": {"L": 1, "l": 1, "ml": 0.001, "mL": 0.001, "qt": 0.946352946},
	"leak":   {"kPa/min": 1, "bar/min": 100, "psi/min": 6.894757293168361},
}

// Convert takes v from a unit to the feature's; an empty unit is the feature's
// own. The error says which units there are.
func (f Feature) Convert(v float64, unit string) (float64, error) {
	if unit == "" || unit == f.Unit {
		return v, nil
	}
	if k, ok := OwnUnits[f.Quantity][unit]; ok {
		return v * k, nil
	}
	converted, err := units.Convert(v, unit, f.Unit)
	if err != nil {
		return 0, f.unitError(unit)
	}
	return converted, nil
}

func (f Feature) unitError(unit string) error {
	switch f.Quantity {
	case "length":
		return fmt.Errorf("unit %q: want mm, µm, in or thou", unit)
	case "torque":
		return fmt.Errorf("unit %q: want N·m, lbf·ft, lbf·in, kgf·m or kgf·cm", unit)
	case "pressure": // of no feature, but of the readings an air test is made of
		return fmt.Errorf("unit %q: want kPa, bar, psi or MPa", unit)
	case "":
		return fmt.Errorf("unit %q: %s has no unit", unit, f.Title)
	}
	return fmt.Errorf("unit %q: want one of %q", unit, slices.Sorted(maps.Keys(OwnUnits[f.Quantity])))
}
