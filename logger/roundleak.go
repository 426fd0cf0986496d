package logger

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/leak"
	"crownlog/device"
)

const (
	leakSamples = 20000 // kept at most; a longer test is thinned
	lookSamples = 100   // behind the running rate
	leakEvery   = 5.0   // seconds between looks at the running rate
)

// A leakMeasure keeps the pressure of an air test, lets it settle, and takes
// the rate when the test time is over.
type leakMeasure struct {
	r       *Round
	samples []leak.Sample
	every   int // keep each so many-th reading
	seen    int
	celsius float64
	start   float64
	looked  float64
	held    float64 // pressure that never changed in the test: it must be seen to follow; NaN: none
	follows bool
	result  leak.Result
}

func newLeakMeasure(r *Round) *leakMeasure {
	m := &leakMeasure{r: r}
	m.reset()
	return m
}

func (m *leakMeasure) reset() {
	*m = leakMeasure{r: m.r, samples: m.samples[:0], every: 1, celsius: math.NaN(), start: math.NaN(), held: math.NaN()}
	m.result.RatePerMin = math.NaN()
}

// temperature takes the reading of a thermometer beside the line.
func (m *leakMeasure) temperature(celsius float64) { m.celsius = celsius }

func (m *leakMeasure) add(s analysis.Sample, _ device.Reading) error {
	if m.r.done || m.r.captured() {
		return nil
	}
	if math.IsNaN(m.start) {
		m.start = s.T
	}
	settle, test := m.r.cfg.Sheet.LeakDown.times()
	if !math.IsNaN(m.held) {
		return m.follow(s)
	}
	if s.T-m.start < settle {
		return nil
	}
	m.seen++
	if m.seen%m.every == 0 {
		m.samples = append(m.samples, leak.Sample{T: s.T, P: s.X, TempC: m.celsius})
		m.thin()
	}
	if s.T-m.looked >= leakEvery && len(m.samples) >= 10 {
		m.looked = s.T
		m.result = m.measured(m.thinned(lookSamples))
	}
	if s.T-m.start < settle+test {
		return nil
	}
	if level, same := m.stood(); same && m.resolution() > 0 {
		m.held = level
		m.r.raise(analysis.Frozen, "The reading never changed: a held gauge looks like a tight line. Let a little air out; if the reading follows, the test counts.")
		return nil
	}
	return m.end()
}

// thin keeps every second sample once there are many.
func (m *leakMeasure) thin() {
	if len(m.samples) < leakSamples {
		return
	}
	n := 0
	for i := 0; i < len(m.samples); i += 2 {
		m.samples[n] = m.samples[i]
		n++
	}
	m.samples = m.samples[:n]
	m.every *= 2
}

// thinned is about n samples spread over the test so far, for a quick look.
func (m *leakMeasure) thinned(n int) []leak.Sample {
	every := max(1, len(m.samples)/n)
	var some []leak.Sample
	for i := 0; i < len(m.samples); i += every {
		some = append(some, m.samples[i])
	}
	return some
}

func (m *leakMeasure) measured(samples []leak.Sample) leak.Result {
	return leak.Measure(samples, leak.Options{
		AmbientKPa: m.r.cfg.Sheet.LeakDown.AmbientKPa, Resolution: m.resolution(), Followed: m.follows,
	})
}

// resolution is the gauge's step in kPa: of its profile, else the last digit
// its readings were written with, 0 where neither says.
func (m *leakMeasure) resolution() float64 {
	r := m.r
	if r.resolution > 0 || r.last.Raw == "" {
		return r.resolution
	}
	step, err := readingFeature(r.feat, false).convert(math.Pow10(-r.written), orElse(r.last.Unit, r.cfg.Unit))
	if err != nil {
		return 0
	}
	return step
}

// follow waits, after a test in which the reading never changed, until it
// follows a change of pressure: a held gauge would not.
func (m *leakMeasure) follow(s analysis.Sample) error {
	if s.X == m.held {
		return nil
	}
	m.follows = true
	c, err := m.accept()
	if err != nil {
		m.reset()
		m.r.warn(capitalise(err.Error()) + ". The test starts anew.")
		return nil
	}
	m.r.clear()
	return m.r.capture(c)
}

// stood is the pressure when every reading of the test was the same.
func (m *leakMeasure) stood() (level float64, same bool) {
	for i, s := range m.samples {
		if i > 0 && s.P != level {
			return 0, false
		}
		level = s.P
	}
	return level, len(m.samples) > 0
}

func (m *leakMeasure) end() error { return m.r.captureOf(m, " The test starts anew.") }

func (m *leakMeasure) accept() (Capture, error) {
	if len(m.samples) == 0 {
		return Capture{}, errors.New("the pressure is still settling")
	}
	d := m.measured(m.samples)
	if d.Refused {
		return Capture{}, fmt.Errorf("the curve cannot be read: %s", strings.Join(d.Notes, "; "))
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range m.samples {
		low, high = math.Min(low, s.P), math.Max(high, s.P)
	}
	notes := append([]string{fmt.Sprintf("drop %.2f kPa", d.Drop)}, d.Notes...)
	return Capture{
		Value: d.RatePerMin, U: d.RateU, N: len(m.samples), Low: low, High: high,
		Repeatability: math.NaN(), RadiusMM: math.NaN(), Quality: faultQuality(d.Faults), Note: strings.Join(notes, "; "),
	}, nil
}

func (m *leakMeasure) fill(v *View) {
	v.Needed = 1
	v.Estimate, v.EstimateU = m.result.RatePerMin, m.result.RateU
}

// leakAction counts the test down.
func (r *Round) leakAction() string {
	m, ok := r.measure.(*leakMeasure)
	if !ok || math.IsNaN(m.start) {
		return "Fill the line, shut it off and do not touch it."
	}
	settle, test := m.r.cfg.Sheet.LeakDown.times()
	gone := r.trace.newest() - m.start
	if !math.IsNaN(m.held) {
		return "Let a little air out of the line: the reading must follow."
	}
	if gone < settle {
		return fmt.Sprintf("Settling: %.0f s to go. Do not touch the line.", settle-gone)
	}
	return fmt.Sprintf("Measuring: %.0f s to go. Do not touch the line.", math.Max(0, settle+test-gone))
}
