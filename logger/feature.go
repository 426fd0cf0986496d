package logger

import (
	"fmt"
	"slices"

	"crownlog/analysis"
	"crownlog/device"
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

// A feature is what the package knows of one thing that can be measured. What
// is nil or empty goes the usual way.
type feature struct {
	name     string
	title    string
	unit     string // captures are kept in it
	quantity string // units that can be converted to it share it
	kind     featureKind
	caution  string // shown once at the step where it matters

	lacks     func(s Sheet) error      // what the sheet must say before it can be measured
	positions func(s Sheet) []Position // nil: measured as a whole
	visits    func(s Sheet, name string, ps []Position) []Visit

	gauge   string                 // unit its gauge reads in, where captures have another
	beside  string                 // quantity of a second gauge that helps
	gauged  func(s Setup) Measurer // by a gauge that sends; nil: none can
	asWhole func(s Setup) Measurer // by a gauge in one steady movement instead of at its positions
	typed   func(s Setup) Measurer // of values typed in whatever unit; nil: one in its unit is one capture
	typing  typing

	example  string // of what is typed
	parse    func(line string, division float64) ([]device.KeyedValue, error)
	word     func(c Capture) string // in place of a capture's value
	together bool                   // all its places may be entered at once
}

// featureOrder is the order of Features; features finds them by name. Both are
// filled in from the table.
var (
	featureOrder []feature
	features     = make(map[string]feature)
)

// recorded reports whether a feature is words only, and not measured.
func (f feature) recorded() bool { return f.kind == kindText }

// asTyped reports whether values come in whatever unit they were typed in, and
// its measurer converts them.
func (f feature) asTyped(keyed bool) bool { return f.typed != nil && (keyed || f.gauged == nil) }

// asRead is the feature as its gauge sends it: an air test is captured as a
// rate but read as a pressure, unless the rate itself is keyed.
func (f feature) asRead(keyed bool) feature {
	if f.gauge == "" || keyed {
		return f
	}
	quantity, _, _ := analysis.Canonical(f.gauge)
	return feature{name: f.name, title: f.title, unit: f.gauge, quantity: quantity}
}

// Features lists the features a round can measure, in trade order.
func Features() []string {
	var names []string
	for _, f := range featureOrder {
		if !f.recorded() {
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
	if f.gauged == nil {
		return false
	}
	_, err := toFeatureUnit(0, unit, f.asRead(false))
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
	converted, err := analysis.Convert(v, unit, f.unit)
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
