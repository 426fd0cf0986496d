package logger

import "crownlog/analysis"

const (
	traceSeconds = 12
	traceLength  = 2048 // samples kept at most; faster gauges are thinned for the picture
)

// A traceRing keeps the last seconds of samples for showing.
type traceRing struct {
	samples []analysis.Sample
	head    int // oldest
}

func (t *traceRing) add(s analysis.Sample) {
	n := len(t.samples)
	if n > 0 {
		newest := t.samples[(t.head+n-1)%n]
		if s.T-newest.T < traceSeconds/float64(traceLength) && s.T >= newest.T {
			return
		}
	}
	if n < traceLength {
		t.samples = append(t.samples, s)
		return
	}
	t.samples[t.head] = s
	t.head = (t.head + 1) % n
}

// recent copies the last seconds, times relative to the newest.
func (t *traceRing) recent() []analysis.Sample {
	n := len(t.samples)
	if n == 0 {
		return nil
	}
	newest := t.newest()
	out := make([]analysis.Sample, 0, n)
	for i := range n {
		s := t.samples[(t.head+i)%n]
		if newest-s.T <= traceSeconds {
			out = append(out, analysis.Sample{T: s.T - newest, X: s.X})
		}
	}
	return out
}

// newest is the time of the newest sample, 0 without any.
func (t *traceRing) newest() float64 {
	n := len(t.samples)
	if n == 0 {
		return 0
	}
	return t.samples[(t.head+n-1)%n].T
}
