package rocking

import (
	"slices"

	"crownlog/analysis/internal/stat"
)

// medianInPlace returns the median of v and leaves v sorted; NaN if v is empty.
func medianInPlace(v []float64) float64 {
	slices.Sort(v)
	return stat.SortedQuantile(v, 0.5)
}
