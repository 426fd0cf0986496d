package feature

import (
	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A Feature is a feature with how it is measured and judged. What is nil or
// empty goes the usual way.
type Feature struct {
	record.Feature
	Caution string // shown once at the step where it matters

	lacks     func(s sheet.Sheet) error             // what the sheet must say before it can be measured
	positions func(s sheet.Sheet) []record.Position // nil: measured as a whole
	Visits    func(s sheet.Sheet, name string, ps []record.Position) []Visit

	gauge   string                 // unit its gauge reads in, where captures have another
	Beside  string                 // quantity of a second gauge that helps
	gauged  func(s Setup) Measurer // by a gauge that sends; nil: none can
	AsWhole func(s Setup) Measurer // by a gauge in one steady movement instead of at its positions
	typed   func(s Setup) Measurer // of values typed in whatever unit; nil: one in its unit is one capture
	Typing  typing

	assess  func(a *Assessment, s sheet.Sheet, counted, all []record.Capture, places int) // nil: the values are judged by the window
	partial func(c record.Capture) bool                                                   // captures that are not judged by themselves; nil: all are
	place   string                                                                        // what a position is called; "": position

	example  string // of what is typed
	parse    func(line string, division float64) ([]device.KeyedValue, error)
	Word     func(c record.Capture) string // in place of a capture's value
	Together bool                          // all its places may be entered at once
}

// measurables finds them by name. It is filled in from the table.
var measurables = make(map[string]Feature)

// Find finds how a feature is measured; false for an unknown one, and for
// one that is only written down.
func Find(name string) (Feature, bool) {
	f, ok := measurables[name]
	return f, ok
}

// Caution is what is shown once at the step where a feature is measured.
func Caution(name string) string { return measurables[name].Caution }

// Lacks says what the sheet must have before a feature can be measured; nil
// where it has it.
func Lacks(s sheet.Sheet, name string) error {
	if lacks := measurables[name].lacks; lacks != nil {
		return lacks(s)
	}
	return nil
}

// AsTyped reports whether values come in whatever unit they were typed in, and
// its measurer converts them.
func (f Feature) AsTyped(keyed bool) bool { return f.typed != nil && (keyed || f.gauged == nil) }

// AsRead is the feature as its gauge sends it: an air test is captured as a
// rate but read as a pressure, unless the rate itself is keyed.
func (f Feature) AsRead(keyed bool) record.Feature {
	if f.gauge == "" || keyed {
		return f.Feature
	}
	quantity, _, _ := units.Canonical(f.gauge)
	return record.Feature{Name: f.Name, Title: f.Title, Unit: f.gauge, Quantity: quantity}
}

// ReadIn reports whether a feature can be measured with a gauge that reads in
// unit: an air test is read as a pressure though it is kept as a rate. "" is a
// gauge that names its units itself.
func ReadIn(name, unit string) bool {
	f := measurables[name]
	if f.gauged == nil {
		return false
	}
	_, err := f.AsRead(false).Convert(0, unit)
	return err == nil
}
