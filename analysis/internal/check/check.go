// Package check holds what tests of several packages compare with: tables of
// published figures, and how well two numbers agree. The README says where each
// table is from.
package check

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Rows reads a table of published figures, header first, from the
// testdata of the package under test.
func Rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", filepath.FromSlash(name)))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	require.NoError(t, err)
	return rows
}

// Column reads one value a line, from the same place.
func Column(t *testing.T, name string) []string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", filepath.FromSlash(name)))
	require.NoError(t, err)
	return strings.Fields(string(b))
}

// Numbers reads each word as a number.
func Numbers(t *testing.T, words []string) []float64 {
	t.Helper()
	x := make([]float64, len(words))
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		require.NoError(t, err)
		x[i] = v
	}
	return x
}

// Number reads s, NaN where a table leaves it empty.
func Number(t *testing.T, s string) float64 {
	t.Helper()
	if s == "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// Digits is how many decimal digits got and want agree in: -log10 of the
// relative error, 15 at most. McCullough 1998.
func Digits(got, want float64) float64 {
	if got == want {
		return 15
	}
	d := -math.Log10(math.Abs(got - want))
	if want != 0 {
		d = -math.Log10(math.Abs(got-want) / math.Abs(want))
	}
	return math.Max(0, math.Min(15, d))
}

// ApartDeg is the angle between two phases of a harmonic of that period.
func ApartDeg(a, b, period float64) float64 {
	return math.Abs(math.Mod(a-b+10.5*period, period) - period/2)
}
