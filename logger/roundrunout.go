package logger

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/runout"
	"crownlog/device"
)

const (
	turnSamples = 1e6  // kept of a continuous turn at most
	minimumTurn = 1.05 // turns before a continuous turn can be taken
)

// A turnMeasure takes a steady turn as a whole.
type turnMeasure struct {
	r       *Round
	samples []analysis.Sample
	result  runout.Result
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
	run := runout.MeasureTurn(m.samples, m.r.runoutOptions())
	if run.Refused {
		return Capture{}, fmt.Errorf("the turn cannot be read: %s", strings.Join(run.Notes, "; "))
	}
	if run.Turns > 0 && run.Turns < minimumTurn {
		return Capture{}, fmt.Errorf("only %.1f turns so far: turn on steadily", run.Turns)
	}
	if len(run.Doubtful) > 0 {
		return Capture{}, fmt.Errorf("one turn does not tell a bump from dirt: %s", strings.Join(run.Notes, "; "))
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

// runoutNote puts the harmonics into words, each by its full movement, as an
// indicator shows it: twice the amplitude.
func runoutNote(run runout.Result) string {
	var parts []string
	if run.H1 != nil {
		parts = append(parts, fmt.Sprintf("once a turn %.3f, high at %.0f°", run.H1.Movement(), run.H1.PhaseDeg))
	}
	if run.H2 != nil {
		parts = append(parts, fmt.Sprintf("twice a turn %.3f, high at %.0f°", run.H2.Movement(), run.H2.PhaseDeg))
	}
	return strings.Join(append(parts, run.Notes...), "; ")
}

func (r *Round) runoutOptions() runout.Options {
	return runout.Options{Resolution: r.resolution, MPE: r.cfg.Sheet.Gauge.MPEMM}
}
