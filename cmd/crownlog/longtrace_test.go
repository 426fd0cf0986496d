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
