package logger

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
)

const (
	turnSamples = 1e6  // kept of a continuous turn at most
	minimumTurn = 1.05 // turns before a continuous turn can be taken
)

// runout is measured by a level at each place, or by one steady turn.
func runout(name, title, caution string) feature {
	return feature{
		name: name, title: title, unit: "mm", quantity: "length", kind: kindRunout, caution: caution,
		positions: func(s Sheet) []Position { return evenPositions(s.runoutPlaces()) },
		gauged:    func(s Setup) Measurer { return newLevels(s) },
		asWhole:   func(s Setup) Measurer { return newTurn(s) },
		typing:    typing{doubt: doubtLevel},
	}
}

// doubtLevel counts a level by its distance from the others.
func doubtLevel(s Setup, at At, v float64) string {
	upper, away := s.Spec.Limits.Upper, math.Abs(v-at.Mean)
	if at.N == 0 || !(upper > 0) || away <= absurdValue*upper {
		return ""
	}
	return fmt.Sprintf("%.3g from the other places, where %s is allowed in all", away, features[s.Feature].plainAmount(upper))
}

// A turn takes a steady turn as a whole.
type turn struct {
	Setup
	samples   []analysis.Sample
	low, high float64
}

func newTurn(s Setup) *turn { return &turn{Setup: s, low: math.Inf(1), high: math.Inf(-1)} }

func (m *turn) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Reading:
		if !at.Done && len(m.samples) < turnSamples {
			m.samples = append(m.samples, in.Sample)
			m.low, m.high = math.Min(m.low, in.Sample.X), math.Max(m.high, in.Sample.X)
		}
	case Accept, End:
		return captureOf(m.measured())
	case Enter, Reset:
		m.samples, m.low, m.high = m.samples[:0], math.Inf(1), math.Inf(-1)
	}
	return nil
}

func (m *turn) measured() (Capture, error) {
	if len(m.samples) == 0 {
		return Capture{}, errors.New("no reading yet")
	}
	run := analysis.RunoutTurn(m.samples, analysis.RunoutOptions{Resolution: m.Resolution, MPE: m.Sheet.Gauge.MPEMM})
	if run.Refused {
		return Capture{}, fmt.Errorf("the turn cannot be read: %s", strings.Join(run.Notes, "; "))
	}
	if run.Turns > 0 && run.Turns < minimumTurn {
		return Capture{}, fmt.Errorf("only %.1f turns so far: turn on steadily", run.Turns)
	}
	c := newCapture(run.FIM, run.FIMU, int(math.Round(run.Turns)), QualityOK, runoutNote(run))
	c.Low, c.High = m.low, m.high
	return c, nil
}

func (m *turn) Progress() Progress {
	if m.high >= m.low {
		return plainProgress(m.high - m.low)
	}
	return plainProgress(math.NaN())
}

func (m *turn) Ask(At) string {
	return "Turn the wheel steadily one way, two turns in about a minute, then capture."
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

func (s Sheet) runoutOptions() analysis.RunoutOptions {
	return analysis.RunoutOptions{Resolution: s.Gauge.ResolutionMM, MPE: s.Gauge.MPEMM}
}
