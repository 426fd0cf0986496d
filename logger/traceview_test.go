package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/logger/feature"
)

func TestTraceKeepsTheLastSeconds(t *testing.T) {
	var tr trace
	assert.Zero(t, tr.newest())
	assert.Empty(t, tr.recent())
	for i := range 200 { // ten a second for twenty seconds
		tr.add(analysis.Sample{T: 0.1 * float64(i), X: float64(i)})
	}
	assert.InDelta(t, 19.9, tr.newest(), 1e-9)
	recent := tr.recent()
	require.NotEmpty(t, recent)
	assert.InDelta(t, -traceSeconds, recent[0].T, 0.1)
	assert.Equal(t, analysis.Sample{T: 0, X: 199}, recent[len(recent)-1])
	assert.InDelta(t, 121, len(recent), 1)
}

// A fast gauge is thinned to what fits, a clock that was set back is not.
func TestTraceOfAFastGauge(t *testing.T) {
	var tr trace
	for i := range 100_000 { // a thousand a second
		tr.add(analysis.Sample{T: 0.001 * float64(i), X: float64(i)})
	}
	assert.LessOrEqual(t, len(tr), 2*traceLength)
	recent := tr.recent()
	assert.LessOrEqual(t, len(recent), traceLength+1)
	assert.Greater(t, len(recent), traceLength*9/10)
	assert.InDelta(t, -traceSeconds, recent[0].T, 0.01)
	for i := 1; i < len(recent); i++ {
		require.Greater(t, recent[i].T, recent[i-1].T)
	}
	n := len(tr)
	tr.add(analysis.Sample{T: tr.newest(), X: 1})
	assert.Len(t, tr, n, "too soon after the last one")
	tr.add(analysis.Sample{T: tr.newest() - 5, X: 1})
	assert.Len(t, tr, n+1)
}

func TestStopsInTheTrace(t *testing.T) {
	var r Round
	r.addStop(feature.Stop{From: 1, To: 2, Level: 0.1})
	r.addStop(feature.Stop{From: 1, To: 3, Level: 0.1}) // the same one goes on
	r.addStop(feature.Stop{From: 4, To: 5, Level: 0.3, High: true})
	require.Len(t, r.stops, 2)
	r.trace.add(analysis.Sample{T: 14})
	assert.Equal(t, []feature.Stop{{From: -12, To: -11, Level: 0.1}, {From: -10, To: -9, Level: 0.3, High: true}}, r.recentStops())
	r.trace.add(analysis.Sample{T: 16})
	assert.Equal(t, []feature.Stop{{From: -12, To: -11, Level: 0.3, High: true}}, r.recentStops())
	for i := range 1000 {
		r.addStop(feature.Stop{From: float64(10 + 2*i), To: float64(11 + 2*i)})
		require.LessOrEqual(t, len(r.stops), 7)
	}
	assert.Equal(t, 2009.0, r.stops[len(r.stops)-1].To)
	assert.Len(t, r.stops, 7, "those of the last twelve seconds")
}

func TestWrittenDecimals(t *testing.T) {
	for raw, want := range map[string]int{"": 0, "12": 0, "0.180 mm": 3, "0,18": 2, "1.": 0, "+1.2345678": 6, "01A+000.150": 3} {
		assert.Equal(t, want, writtenDecimals(raw), raw)
	}
}
