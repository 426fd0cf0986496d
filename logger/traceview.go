package logger

import "crownlog/analysis"

const (
	traceSeconds = 12
	traceLength  = 2048 // samples of so many seconds at most; faster gauges are thinned for the picture
)

// A trace keeps the last seconds of samples for showing, and some before them.
type trace []analysis.Sample

func (t *trace) add(s analysis.Sample) {
	all := *t
	n := len(all)
	if n > 0 {
		gap := s.T - all[n-1].T
		if gap >= 0 && gap < traceSeconds/float64(traceLength) {
			return
		}
	}
	if n == 2*traceLength {
		all = all[:copy(all, all[traceLength:])]
	}
	*t = append(all, s)
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
