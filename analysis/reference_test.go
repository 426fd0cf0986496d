package analysis

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

// referenceRows reads a table of published figures, header first. Sources are
// in the README beside them.
func referenceRows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "reference", filepath.FromSlash(name)))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	require.NoError(t, err)
	return rows
}

// referenceColumn reads one value a line.
func referenceColumn(t *testing.T, name string) []string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "testdata", "reference", filepath.FromSlash(name)))
	require.NoError(t, err)
	return strings.Fields(string(b))
}

func parsed(t *testing.T, words []string) []float64 {
	t.Helper()
	x := make([]float64, len(words))
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		require.NoError(t, err)
		x[i] = v
	}
	return x
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	if s == "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// digits is how many decimal digits got and want agree in: -log10 of the
// relative error, 15 at most. McCullough 1998.
func digits(got, want float64) float64 {
	if got == want {
		return 15
	}
	d := -math.Log10(math.Abs(got - want))
	if want != 0 {
		d = -math.Log10(math.Abs(got-want) / math.Abs(want))
	}
	return math.Max(0, math.Min(15, d))
}
