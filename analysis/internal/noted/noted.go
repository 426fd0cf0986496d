// Package noted finds a note in a result, for the tests of the measurements.
package noted

import "crownlog/analysis"

// Figures returns the figures of the first note of that kind, empty where it has
// none, and nil where there is no such note.
func Figures(notes []analysis.Note, kind analysis.NoteCode) []float64 {
	for _, n := range notes {
		if n.Code == kind {
			return append([]float64{}, n.Args...)
		}
	}
	return nil
}
