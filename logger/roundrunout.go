package logger

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/device"
)

const (
	stillSeconds = 0.6  // a level is taken after so long without movement
	turnSamples  = 1e6  // kept of a continuous turn at most
	minimumTurn  = 1.05 // turns before a continuous turn can be taken
)

// A levelMeasure takes the indicator's level at each position of a run-out:
// by itself once the wheel rests after having been turned, or by command.
type levelMeasure struct {
	r      *Round
	recent []analysis.Sample // of the rest so far
	moved  bool              // the wheel has been turned since the last capture
}

func (m *levelMeasure) reset() { m.recent = m.recent[:0] }

func (m *levelMeasure) add(s analysis.Sample, rd device.Reading) error {
	r := m.r
	if r.done {
		return nil
	}
	if rd.Flags&device.FlagPress != 0 {
		return m.pressed(s)
	}
	if n := len(m.recent); n > 0 && math.Abs(s.X-m.recent[0].X) > m.slack() {
		m.recent, m.moved = m.recent[:0], true
		r.state = StateMoving
		if r.captured() && r.cfg.HandsOff {
			r.advance()
			r.state = StateMoving
		}
	}
	m.recent = append(m.recent, s)
	if n := len(m.recent); n > 4096 {
		m.recent = append(m.recent[:0], m.recent[n/2:]...)
	}
	if r.captured() || !r.cfg.HandsOff || !m.rested() {
		return nil
	}
	if !m.moved && r.stored() > 0 {
		return nil
	}
	c, err := m.accept()
	if err != nil {
		return nil
	}
	m.moved = false
	return r.capture(c)
}

// pressed takes the level that a gauge sent at the press of its key.
func (m *levelMeasure) pressed(s analysis.Sample) error {
	r := m.r
	if r.captured() && r.cfg.HandsOff {
		r.advance()
	}
	m.recent = append(m.recent[:0], s)
	if r.captured() || !r.cfg.HandsOff {
		return nil
	}
	c, err := m.accept()
	if err != nil {
		return nil
	}
	return r.capture(c)
}

// slack is how far the level may move and still be the same: two counts, or
// the noise of a fine gauge.
func (m *levelMeasure) slack() float64 { return math.Max(2*m.r.resolution, 0.003) }

func (m *levelMeasure) rested() bool {
	n := len(m.recent)
	return n >= 3 && m.recent[n-1].T-m.recent[0].T >= stillSeconds
}

func (m *levelMeasure) accept() (Capture, error) {
	if len(m.recent) == 0 {
		return Capture{}, errors.New("no reading yet")
	}
	values := make([]float64, len(m.recent))
	low, high := math.Inf(1), math.Inf(-1)
	for i, s := range m.recent {
		values[i] = s.X
		low, high = math.Min(low, s.X), math.Max(high, s.X)
	}
	level := meanOf(values)
	return Capture{
		Value: level, U: m.r.keyedUncertainty(level), N: len(values), Low: low, High: high, Repeatability: math.NaN(), RadiusMM: math.NaN(), Quality: QualityOK,
	}, nil
}

func (m *levelMeasure) fill(v *View) {
	v.Needed = 1
	if n := len(m.recent); n > 0 {
		v.Estimate = m.recent[n-1].X
	}
}

// A turnMeasure takes a steady turn as a whole.
type turnMeasure struct {
	r       *Round
	samples []analysis.Sample
	result  analysis.Runout
}

func (m *turnMeasure) reset() { *m = turnMeasure{r: m.r, samples: m.samples[:0]} }

func (m *turnMeasure) add(s analysis.Sample, _ device.Reading) error {
	if m.r.done || len(m.samples) >= turnSamples {
		return nil
	}
	m.samples = append(m.samples, s)
	return nil
}

func (m *turnMeasure) end() error {
	c, err := m.accept()
	if err != nil {
		m.r.warn(capitalise(err.Error()) + ".")
		return nil
	}
	return m.r.capture(c)
}

func (m *turnMeasure) accept() (Capture, error) {
	if len(m.samples) == 0 {
		return Capture{}, errors.New("no reading yet")
	}
	run := analysis.RunoutTurn(m.samples, m.r.runoutOptions())
	if run.Refused {
		return Capture{}, fmt.Errorf("the turn cannot be read: %s", strings.Join(run.Notes, "; "))
	}
	if run.Turns > 0 && run.Turns < minimumTurn {
		return Capture{}, fmt.Errorf("only %.1f turns so far: turn on steadily", run.Turns)
	}
	m.result = run
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range m.samples {
		low, high = math.Min(low, s.X), math.Max(high, s.X)
	}
	return Capture{
		Value: run.FIM, U: run.FIMU, N: int(math.Round(run.Turns)), Low: low, High: high,
		Repeatability: math.NaN(), RadiusMM: math.NaN(), Quality: QualityOK, Note: runoutNote(run),
	}, nil
}

func (m *turnMeasure) fill(v *View) {
	v.Needed = 1
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range m.samples {
		low, high = math.Min(low, s.X), math.Max(high, s.X)
	}
	if high >= low {
		v.Estimate = high - low
	}
}

// runoutNote puts the harmonics into words.
func runoutNote(run analysis.Runout) string {
	var parts []string
	if run.H1 != nil {
		parts = append(parts, fmt.Sprintf("once a turn %.3f at %.0f°", run.H1.Amplitude, run.H1.PhaseDeg))
	}
	if run.H2 != nil {
		parts = append(parts, fmt.Sprintf("twice a turn %.3f at %.0f°", run.H2.Amplitude, run.H2.PhaseDeg))
	}
	return strings.Join(append(parts, run.Notes...), "; ")
}

func (r *Round) runoutOptions() analysis.RunoutOptions {
	return analysis.RunoutOptions{Resolution: r.resolution, MPE: r.cfg.Sheet.Gauge.MPEMM}
}

func (s Sheet) runoutOptions() analysis.RunoutOptions {
	return analysis.RunoutOptions{Resolution: s.Gauge.ResolutionMM, MPE: s.Gauge.MPEMM}
}

func meanOf(values []float64) float64 {
	var sum float64
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}
