// Package feature is what can be measured of an axle: one file a feature says
// at which places, how what the gauge sends becomes captures, how the captures
// are judged, and in which words. A Measurer knows no round and no store: an
// input comes in, effects go out. Assess judges for the whole program.
package feature

import (
	"crownlog/analysis/units"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A Feature is a feature with how it is measured and judged. What is nil or
// empty goes the usual way.
type Feature struct {
	record.Feature
	Caution string // shown once at the step where it matters

	positions func(s sheet.Sheet, name string) []record.Position             // nil: measured as a whole
	visits    func(s sheet.Sheet, name string, ps []record.Position) []Visit // nil: one a position

	gauge   string                 // unit its gauge reads in, where captures have another
	Beside  string                 // quantity of a second gauge that helps
	gauged  func(s Setup) Measurer // by a gauge that sends; nil: none can
	where   string                 // a dial is set for a run-out
	AsWhole func(s Setup) Measurer // by a gauge in one steady movement instead of at its positions
	typed   func(s Setup) Measurer // of values typed; nil: one value is one capture

	Check       func(f Feature, v float64) error                // refuses a typed value that cannot be; nil: none
	doubt       func(s Setup, at At, v float64) string          // how far off one is, "": not far; nil: by the window and what is usual
	uncertainty func(s Setup, v float64) float64                // standard, of one as it is read; nil: half a count
	store       func(s Setup, at At, c record.Capture) []Effect // what becomes of its capture; nil: it is stored as it is
	ask         func(s Setup, at At) string                     // for it; nil: by title and unit
	NamesUnit   bool                                            // it must name its unit

	assess  func(a *Assessment, s sheet.Sheet, counted, all []record.Capture, places int) // nil: the values are judged by the window
	partial func(c record.Capture) bool                                                   // captures that are not judged by themselves; nil: all are
	empty   func(s sheet.Sheet, c record.Capture) string                                  // why a capture proves nothing of the axle, "" that it does; nil: all do
	outside func(c record.Capture) bool                                                   // captures that are outside whatever the window; nil: none
	place   string                                                                        // what a position is called; "": position

	example  string // of what is typed
	parse    func(line string, division float64) ([]frame.KeyedValue, error)
	Word     func(c record.Capture) string // in place of a capture's value
	Together bool                          // all its places may be entered at once
}

// AsTyped reports whether values come in whatever unit they were typed in, and
// its measurer converts them.
func (f Feature) AsTyped(keyed bool) bool { return keyed || f.gauged == nil }

// AsRead is the feature as its gauge sends it: an air test is captured as a
// rate but read as a pressure, unless the rate itself is keyed.
func (f Feature) AsRead(keyed bool) record.Feature {
	if f.gauge == "" || keyed {
		return f.Feature
	}
	quantity, _, _ := units.Canonical(f.gauge)
	return record.Feature{Name: f.Name, Title: f.Title, Unit: f.gauge, Quantity: quantity}
}

// NewMeasurer picks the way the feature is measured.
func (f Feature) NewMeasurer(s Setup, whole bool) Measurer {
	switch {
	case f.AsTyped(s.Keyed) && f.typed != nil:
		return f.typed(s)
	case f.AsTyped(s.Keyed):
		return &entry{Setup: s}
	case whole && f.AsWhole != nil:
		return keyable{f.AsWhole(s), &entry{Setup: s}}
	}
	return keyable{f.gauged(s), &entry{Setup: s}}
}

// VisitsOf lists the captures to be made at the positions of a round.
func (f Feature) VisitsOf(s sheet.Sheet, ps []record.Position) []Visit {
	if f.visits != nil {
		return f.visits(s, f.Name, ps)
	}
	visits := make([]Visit, len(ps))
	for i, p := range ps {
		visits[i] = Visit{Position: p, Place: i, Final: true}
	}
	return visits
}

// places are the positions a round of the feature visits by the sheet.
func (f Feature) places(s sheet.Sheet) []record.Position {
	if f.positions != nil {
		return f.positions(s, f.Name)
	}
	return []record.Position{WholeFeature(f.Name)}
}

func parseOne(line string, division float64) ([]frame.KeyedValue, error) {
	v, unit, err := parseKeyed(line, division)
	if err != nil {
		return nil, err
	}
	return []frame.KeyedValue{{Value: v, Unit: unit}}, nil
}
