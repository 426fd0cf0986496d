package torque

import (
	"iter"
	"math"

	regression "gonum.org/v1/gonum/stat"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// A Pull is one bolt tightened: from above the threshold to below it again.
type Pull struct {
	Time         float64 // of the peak, seconds
	Value        float64 // peak torque, N·m; overshoot after a click counts
	DoubleStrike bool    // clicked, let off and clicked again without falling below the threshold
	Start        float64 // seconds
	End          float64
	LeftHand     bool // pulled the negative way
	Unfinished   bool // the trace ended before the torque fell below the threshold
	Gap          bool // readings are missing within it: the peak may have been missed
	TopLost      bool // a reading beside the peak was broken: the peak was higher for all that is known
}

// pullTrack follows one pull.
type pullTrack struct {
	on       bool
	sign     float64
	pull     Pull
	first    float64 // peak before the fall
	firstT   float64
	valley   float64
	clicked  float64 // highest peak before a second pull; 0: none
	lastSeen float64
}

// missed marks a pull after a reading was broken: where the highest so far stands
// before it, or the reading at level behind it is the highest, the peak may have
// been in it. Readings that rise on beyond show that it was not.
func (p *pullTrack) missed(lost bool, level float64) {
	higher := level > p.pull.Value
	p.pull.TopLost = lost && (higher || p.pull.Time == p.lastSeen) || p.pull.TopLost && !higher
}

// strike notices a fall from a peak and a second rise. A click that is pulled
// straight through dips too, but less deep and for less long.
func (p *pullTrack) strike(x, at float64) {
	switch {
	case p.firstT == 0 && p.first == 0, x > p.first && p.valley > (1-strikeFall)*p.first:
		p.first, p.firstT, p.valley = x, at, x
	case x < p.valley:
		p.valley = x
	case p.valley <= (1-strikeFall)*p.first && x >= math.Max(strikeRise*p.first, p.valley+strikeGain*p.first):
		apart := strikeApart
		if p.valley > strikeDeep*p.first {
			apart = strikeApartShallow
		}
		if at-p.firstT >= apart {
			p.clicked = math.Max(p.clicked, p.first)
		}
		p.first, p.firstT, p.valley = math.Max(x, p.first), at, x
	}
}

// filtered holds readings back by two where they come fast enough for a single
// wild one to be told from a pull, and puts the mean of its neighbours in its
// place.
func (t *Meter) filtered(s analysis.Sample) (Pull, bool) {
	if t.spikes == len(t.spike) {
		copy(t.spike[:], t.spike[1:])
		t.spikes--
	}
	t.spike[t.spikes] = s
	t.spikes++
	if t.spikes < len(t.spike) {
		return Pull{}, false
	}
	return t.take(analysis.Sample{T: t.spike[2].T, X: tamed(t.spike)})
}

// tamed returns the middle one of five readings, or the mean of its neighbours
// when it stands off from both by three times what the other four span.
func tamed(s [5]analysis.Sample) float64 {
	a, b, x, c, d := s[0].X, s[1].X, s[2].X, s[3].X, s[4].X
	low, high := min(a, b, c, d), max(a, b, c, d)
	off := math.Min(math.Abs(x-b), math.Abs(x-c))
	if (x > high || x < low) && off > 3*(high-low)+1e-3*math.Abs(x) {
		return (b + c) / 2
	}
	return x
}

// remember keeps the readings of the last peakWindow.
func (t *Meter) remember(s analysis.Sample) {
	n := 0
	for n < len(t.recent) && (t.recent[n].T < s.T-peakWindow || len(t.recent)-n >= peakCapacity) {
		n++
	}
	if n > 0 {
		t.recent = t.recent[:copy(t.recent, t.recent[n:])]
	}
	t.recent = append(t.recent, s)
}

// level returns the torque now: the end of a straight line through the last
// peakWindow, never above the highest or below the lowest reading in it. It
// takes the noise off a peak without rounding a click away. With fewer than
// four readings in the window it is the last reading.
func (t *Meter) level() float64 {
	n := len(t.recent)
	last := t.recent[n-1]
	if n < 4 {
		return last.X
	}
	ago, x := t.ago[:n], t.sizes[:n] // this is done for each reading
	for i, s := range t.recent {
		ago[i], x[i] = s.T-last.T, s.X
	}
	now, _ := regression.LinearRegression(ago, x, nil, false)
	if math.IsNaN(now) { // all at one moment
		return stat.Mean(x)
	}
	low, high := stat.Extremes(x)
	return math.Max(low, math.Min(high, now))
}

// highest is the size of the highest reading that a meter takes for one, from a first
// run over a trace in which nothing reaches its threshold.
func highest(samples iter.Seq[analysis.Sample]) float64 {
	t := New(Options{Threshold: math.MaxFloat64})
	for s := range samples {
		t.Add(s)
	}
	t.Finish()
	return t.top
}
