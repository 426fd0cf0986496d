package feature

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/leak"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// leakSamples are kept at most; a longer test is thinned.
const leakSamples = 20000

// leakDown is an air test: captured as a rate, read as a pressure.
func leakDown() Feature {
	return Feature{
		gauge: "kPa", Beside: "temperature",
		gauged:    func(s Setup) Measurer { return newAirTest(s) },
		typed:     func(s Setup) Measurer { return &typedAir{entry: &entry{Setup: s}} },
		NamesUnit: true,
		example:   "the pressure, the pressure later, their unit and the minutes between, as START END kPa MINUTES min",
		parse:     parseAir,
		empty:     otherPressure,
	}
}

// nearPressure is the share of the test pressure that a test must begin with: a
// needle is set by hand. Common practice, no source.
const nearPressure = 0.95

// otherPressure says that a test was made below the sheet's test pressure, or at
// one that is not known; "" where it was not, or the sheet has none.
func otherPressure(s sheet.Sheet, c record.Capture) string {
	test, _ := s.LeakDown.PressuresKPa()
	if !(test > 0) || c.High >= nearPressure*test {
		return ""
	}
	at := "an unknown pressure"
	if c.High > 0 {
		at = fmt.Sprintf("%.4g kPa", c.High)
	}
	return "tested at " + at + ", and the lock is tested at " + s.LeakDown.Words(s.LeakDown.TestPressure)
}

// tooHigh warns of a pressure above the sheet's largest; "" for none.
func tooHigh(s sheet.Sheet, kPa float64) string {
	if _, most := s.LeakDown.PressuresKPa(); most > 0 && kPa > most {
		return fmt.Sprintf("%.4g kPa is above the %s that the lock may have: vent the line. Nothing of it is stored.", kPa, s.LeakDown.Words(s.LeakDown.MaxPressure))
	}
	return ""
}

// fillTo says to what pressure the line is filled, by the sheet's figures alone.
func fillTo(s sheet.Sheet) string {
	to, l := "the lock maker's test pressure", s.LeakDown
	if l.TestPressure > 0 {
		to = l.Words(l.TestPressure)
	}
	if l.MaxPressure > 0 {
		to += ", never above " + l.Words(l.MaxPressure)
	}
	return "Fill the line to " + to
}

// An airTest keeps the pressure, lets it settle, and takes the rate when the
// test time is over.
type airTest struct {
	Setup
	most    float64 // kPa that the lock may have; 0: not entered
	samples []leak.Sample
	every   int // keep each so many-th reading
	seen    int
	celsius float64
	start   float64
	looked  float64
	now     float64 // of the newest reading
	held    float64 // pressure that never changed in the test: it must be seen to follow; NaN: none
	follows bool
	unit    string // of the newest reading
	result  leak.Result
}

func newAirTest(s Setup) gathering {
	_, most := s.Sheet.LeakDown.PressuresKPa()
	m := &airTest{Setup: s, most: most}
	m.reset()
	return gathering{m}
}

func (m *airTest) reset() {
	nan := math.NaN()
	*m = airTest{Setup: m.Setup, most: m.most, samples: m.samples[:0], every: 1, celsius: nan, start: nan, held: nan}
	m.result.RatePerMin = nan
}

func (m *airTest) add(at At, in Input) []Effect {
	if in.Kind == Temperature {
		m.celsius = in.Value
		return nil
	}
	s := in.Sample
	if m.most > 0 && s.X > m.most {
		m.reset()
		return one(Fault{Text: tooHigh(m.Sheet, s.X)})
	}
	if math.IsNaN(m.start) {
		m.start = s.T
	}
	settle, test := m.Sheet.LeakDown.Times()
	m.now, m.unit = s.T, in.Unit
	switch {
	case s.X == m.held, s.T-m.start < settle:
		return nil
	case !math.IsNaN(m.held): // the reading follows a change of pressure: a held gauge would not
		m.follows = true
		return m.end(at)
	}
	var effects []Effect
	if m.seen++; m.seen == 1 {
		effects = one(Ring("The line has settled: the test begins."))
	}
	if m.seen%m.every == 0 {
		m.samples = append(m.samples, leak.Sample{T: s.T, P: s.X, TempC: m.celsius})
	}
	if len(m.samples) >= leakSamples {
		m.samples, m.every = spaced(m.samples, 2), 2*m.every
	}
	if s.T-m.looked >= 5 && len(m.samples) >= 10 { // the running rate, now and then and by a hundred of them
		m.looked = s.T
		m.result = m.rate(at, spaced(m.samples, max(1, len(m.samples)/100)))
	}
	if s.T-m.start < settle+test {
		return effects
	}
	if low, high := m.span(); low == high && m.step(at) > 0 {
		m.held = low
		return one(Fault{analysis.Frozen, "The reading never changed: a held gauge looks like a tight line. Let a little air out; if the reading follows, the test counts."})
	}
	return m.end(at)
}

// spaced is every so many-th of the samples.
func spaced(samples []leak.Sample, every int) []leak.Sample {
	var some []leak.Sample
	for i := 0; i < len(samples); i += every {
		some = append(some, samples[i])
	}
	return some
}

func (m *airTest) rate(at At, samples []leak.Sample) leak.Result {
	return leak.Measure(samples, leak.Options{
		AmbientKPa: m.Sheet.LeakDown.AmbientKPa, Resolution: m.step(at), Followed: m.follows,
	})
}

// step is the gauge's step in kPa: of its profile, else the last digit its
// readings were written with, 0 where neither says.
func (m *airTest) step(at At) float64 {
	if m.Resolution > 0 || at.Digits < 0 {
		return m.Resolution
	}
	step, _ := m.Of.AsRead(false).Convert(math.Pow10(-at.Digits), m.unit)
	return step
}

// span is the lowest and the highest pressure of the test.
func (m *airTest) span() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, s := range m.samples {
		low, high = math.Min(low, s.P), math.Max(high, s.P)
	}
	return low, high
}

func (m *airTest) end(at At) []Effect {
	c, err := m.measured(at)
	if err != nil {
		m.reset()
		return one(warnOf(err) + " The test starts anew.")
	}
	return one(Captured(c))
}

func (m *airTest) measured(at At) (record.Capture, error) {
	if len(m.samples) == 0 {
		return record.Capture{}, errors.New("the pressure is still settling")
	}
	d := m.rate(at, m.samples)
	if d.Refused {
		return record.Capture{}, fmt.Errorf("the curve cannot be read: %s", words.Joined(d.Notes))
	}
	notes := append([]string{fmt.Sprintf("drop %.2f kPa", d.Drop)}, words.Notes(d.Notes)...)
	c := newCapture(d.RatePerMin, d.RateU, len(m.samples), faultQuality(d.Faults), strings.Join(notes, "; "))
	c.Low, c.High = m.span()
	return c, nil
}

func (m *airTest) Progress() Progress {
	left, leg := m.left()
	return Progress{Wanted: 1, Estimate: m.result.RatePerMin, EstimateU: m.result.RateU, Left: left, Leg: leg}
}

// left is what is left of the settling or of the test, s, and which of them; ""
// where none of them goes on.
func (m *airTest) left() (left float64, leg string) {
	settle, test := m.Sheet.LeakDown.Times()
	gone := m.now - m.start
	switch {
	case math.IsNaN(gone), !math.IsNaN(m.held):
		return 0, ""
	case gone < settle:
		return settle - gone, "settling"
	}
	return math.Max(0, settle+test-gone), "air test"
}

// Ask counts the test down.
func (m *airTest) Ask(At) string {
	left, leg := m.left()
	switch {
	case math.IsNaN(m.start):
		return fillTo(m.Sheet) + ", shut it off and do not touch it."
	case leg == "":
		return "Let a little air out of the line: the reading must follow."
	}
	return toGo(leg, left)
}

// toGo counts a leg of the test down.
func toGo(leg string, left float64) string {
	return fmt.Sprintf("%s: %.0f s to go. Do not touch the line.", Capitalise(leg), left)
}
