package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/export"
)

// Of a trace longer than can be kept every second, fourth and so on is used, and
// said so; its span and its rate are those of all.
func TestLongTraceIsThinned(t *testing.T) {
	const rows = 2*mostRows + 1000
	var b bytes.Buffer
	b.WriteString("time,value,unit\n")
	for i := range rows {
		fmt.Fprintf(&b, "%d,%.3f,kPa\n", i, 200-float64(i)/60000) // 0.001 kPa a minute
	}
	name := filepath.Join(t.TempDir(), "long.csv")
	require.NoError(t, os.WriteFile(name, b.Bytes(), 0o600))
	trace, err := openTrace(&console{}, name, "kPa", export.Mapping{})
	require.NoError(t, err)
	defer trace.file.Close()
	samples, err := collect(trace, sampleOf)
	require.NoError(t, err)
	assert.Equal(t, 4, trace.every)
	assert.Len(t, samples, (rows+3)/4)
	for i, s := range samples {
		require.InDelta(t, 4*i, s.T, 1e-9)
	}
	assert.Equal(t, []string{"a long trace: one reading in 4 is used"}, trace.unitNotes())
}

// The rows before one that cannot be read come in their order, whatever is read ahead,
// and what is wrong is told with its place.
func TestRowsComeInOrderUpToTheFirstMistake(t *testing.T) {
	for _, tt := range []struct {
		sound     int
		row, want string
	}{
		{2*rowsAhead + 7, "9999,x,mm\n", fmt.Sprintf(`:%d:6: value "x" is not a finite number`, 2*rowsAhead+9)},
		{3 * rowsAhead, "9999,1,bar\n", fmt.Sprintf(":%d: ", 3*rowsAhead+2)},
		{0, "0,,mm\n", ":2:3: value is empty"},
		{3 * rowsAhead, "", ""},
		{5, "", ""},
	} {
		var b bytes.Buffer
		b.WriteString("time,value,unit\n")
		for i := range tt.sound {
			fmt.Fprintf(&b, "%d,%d,mm\n", i, i)
		}
		b.WriteString(tt.row)
		name := filepath.Join(t.TempDir(), "trace.csv")
		require.NoError(t, os.WriteFile(name, b.Bytes(), 0o600))
		trace, err := openTrace(&console{}, name, "mm", export.Mapping{})
		require.NoError(t, err)
		rows := 0
		err = trace.each(func(row export.Row) {
			require.InDelta(t, rows, row.Value, 0)
			rows++
		})
		assert.Equal(t, tt.sound, rows)
		if tt.want == "" {
			assert.NoError(t, err)
		} else {
			assert.ErrorContains(t, err, name+tt.want)
		}
		require.NoError(t, trace.file.Close())
	}
}
