package logger

import (
	"slices"

	"crownlog/analysis"
)

const (
	traceSeconds = 12
	traceLength  = 2048 // samples of so many seconds at most; faster gauges are thinned for the picture
)

// A trace keeps the last seconds of samples for showing, and some before them.
type trace []analysis.Sample

func (t *trace) add(s analysis.Sample) {
	gap := s.T - t.newest()
	if len(*t) > 0 && gap >= 0 && gap < traceSeconds/float64(traceLength) {
		return
	}
	if len(*t) == 2*traceLength {
		*t = slices.Delete(*t, 0, traceLength)
	}
	*t = append(*t, s)
}

// recent copies the last seconds, times relative to the newest.
func (t trace) recent() []analysis.Sample {
	out := make([]analysis.Sample, 0, min(len(t), traceLength))
	now := t.newest()
	for _, s := range t {
		if now-s.T <= traceSeconds {
			out = append(out, analysis.Sample{T: s.T - now, X: s.X})
		}
	}
	return out
}

// newest is the time of the newest sample, 0 without any.
func (t trace) newest() float64 {
	if len(t) == 0 {
		return 0
	}
	return t[len(t)-1].T
}
