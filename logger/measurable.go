package logger

import (
	"crownlog/analysis/units"
	"crownlog/device"
)

// A measurable is a feature with how it is measured and judged. What is nil or
// empty goes the usual way.
type measurable struct {
	Feature
	caution string // shown once at the step where it matters

	lacks     func(s Sheet) error      // what the sheet must say before it can be measured
	positions func(s Sheet) []Position // nil: measured as a whole
	visits    func(s Sheet, name string, ps []Position) []Visit

	gauge   string                 // unit its gauge reads in, where captures have another
	beside  string                 // quantity of a second gauge that helps
	gauged  func(s Setup) Measurer // by a gauge that sends; nil: none can
	asWhole func(s Setup) Measurer // by a gauge in one steady movement instead of at its positions
	typed   func(s Setup) Measurer // of values typed in whatever unit; nil: one in its unit is one capture
	typing  typing

	assess  func(a *Assessment, s Sheet, counted, all []Capture, places int) // nil: the values are judged by the window
	partial func(c Capture) bool                                             // captures that are not judged by themselves; nil: all are
	place   string                                                           // what a position is called; "": position

	example  string // of what is typed
	parse    func(line string, division float64) ([]device.KeyedValue, error)
	word     func(c Capture) string // in place of a capture's value
	together bool                   // all its places may be entered at once
}

// measurables finds them by name. It is filled in from the table.
var measurables = make(map[string]measurable)

// findFeature finds how a feature is measured; false for an unknown one, and for
// one that is only written down.
func findFeature(name string) (measurable, bool) {
	f, ok := measurables[name]
	return f, ok
}

// Caution is what is shown once at the step where a feature is measured.
func Caution(name string) string { return measurables[name].caution }

// Lacks says what the sheet must have before a feature can be measured; nil
// where it has it.
func Lacks(s Sheet, name string) error {
	if lacks := measurables[name].lacks; lacks != nil {
		return lacks(s)
	}
	return nil
}

// asTyped reports whether values come in whatever unit they were typed in, and
// its measurer converts them.
func (f measurable) asTyped(keyed bool) bool { return f.typed != nil && (keyed || f.gauged == nil) }

// asRead is the feature as its gauge sends it: an air test is captured as a
// rate but read as a pressure, unless the rate itself is keyed.
func (f measurable) asRead(keyed bool) Feature {
	if f.gauge == "" || keyed {
		return f.Feature
	}
	quantity, _, _ := units.Canonical(f.gauge)
	return Feature{name: f.name, title: f.title, unit: f.gauge, quantity: quantity}
}

// ReadIn reports whether a feature can be measured with a gauge that reads in
// unit: an air test is read as a pressure though it is kept as a rate. "" is a
// gauge that names its units itself.
func ReadIn(name, unit string) bool {
	f := measurables[name]
	if f.gauged == nil {
		return false
	}
	_, err := f.asRead(false).convert(0, unit)
	return err == nil
}
