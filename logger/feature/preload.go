package feature

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/torque"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// preload is measured while the pinion turns.
func preload() Feature {
	return Feature{
		gauged:      func(s Setup) Measurer { return gathering{&turning{Setup: s}} },
		example:     "a torque such as 1.5, 13 kgf cm, 12 lbf in or 40 N x 35 mm",
		Check:       notNegative,
		uncertainty: preloadUncertainty,
		ask: func(s Setup, _ At) string {
			return fmt.Sprintf("Type %s in %s, or pull and radius of a spring scale: 40 N x 35 mm.", s.Of.Title, s.TypedUnit())
		},
	}
}

// preloadUncertainty is that of a typed preload, from the last digit and the
// tool; NaN where the tool is not known, which may be a wrench or a spring scale.
func preloadUncertainty(s Setup, v float64) float64 {
	pct := s.Sheet.Preload.ToolMPEPct
	if u := math.Hypot(gum.Resolution(s.Resolution), gum.Rectangular(v*pct/100)); pct > 0 && u > 0 {
		return u
	}
	return math.NaN()
}

// A turning keeps the torque of one steady turning and takes it as a whole when
// the pinion is let go.
type turning struct {
	Setup
	samples []analysis.Sample
	from    float64 // turning since; NaN: not turning
	until   float64 // last sample that turned
	level   float64 // slow mean of the turning torque
}

func (m *turning) reset() {
	m.samples = m.samples[:0]
	m.from, m.level = math.NaN(), 0
}

func (m *turning) add(at At, in Input) []Effect {
	torque := math.Abs(in.Sample.X)
	if in.Flags&frame.FlagPress != 0 {
		return one(Captured(m.pressed(torque)))
	}
	if len(m.samples) == 0 {
		m.from = math.NaN()
	}
	if len(m.samples) < 1e5 { // kept at most
		m.samples = append(m.samples, in.Sample)
	}
	if torque <= math.Max(0.05, 0.3*m.level) { // it was let go: 0.05 N·m is no turning at all
		return m.end(at)
	}
	var effects []Effect
	if math.IsNaN(m.from) {
		m.from, m.level = in.Sample.T, torque
		effects = one(Measuring{})
	}
	m.level += (torque - m.level) / 32
	m.until = in.Sample.T
	return effects
}

// pressed is the torque that a meter sent at the press of its key.
func (m *turning) pressed(torque float64) record.Capture {
	u := math.Hypot(gum.Rectangular(torque*m.toolLimit()/100), gum.Resolution(m.Resolution))
	return newCapture(torque, u, 1, record.QualityOK, m.Sheet.PreloadOf(m.Of.Name).Words())
}

// end takes the turning once the pinion has been let go long enough after
// turning long enough; a shorter turn is forgotten.
func (m *turning) end(at At) []Effect {
	n := len(m.samples)
	if math.IsNaN(m.from) || n == 0 || m.samples[n-1].T-m.until < 0.5 { // s
		return nil
	}
	if m.until-m.from < 4 { // s: two turns at least, as it is asked for
		m.reset()
		return one(Warn("That was too short: turn the pinion steadily for a few turns."))
	}
	c, err := m.measured(at)
	if err != nil {
		m.reset()
	}
	return captureOf(c, err)
}

func (m *turning) measured(At) (record.Capture, error) {
	if len(m.samples) == 0 {
		return record.Capture{}, errors.New("no torque yet")
	}
	p := torque.MeasurePreload(m.samples, torque.PreloadOptions{Resolution: m.Resolution, MPEPercent: m.toolLimit()})
	if p.Refused {
		return record.Capture{}, fmt.Errorf("the turning cannot be read: %s", words.Joined(p.Notes))
	}
	spec := m.Sheet.PreloadOf(m.Of.Name)
	value, starting := p.Running, spec.Kind == "starting"
	if starting {
		value = p.Breakaway
		if math.IsNaN(value) {
			return record.Capture{}, errors.New("the manual means the starting torque, and none stood out: start from rest")
		}
	}
	notes := append([]string{spec.Words()}, words.Notes(p.Notes)...)
	if !math.IsNaN(p.Breakaway) && !starting {
		notes = append(notes, fmt.Sprintf("breakaway %.2f", p.Breakaway))
	}
	c := newCapture(value, p.StandardUncertainty, len(m.samples), faultQuality(p.Faults), strings.Join(notes, "; "))
	c.Low, c.High = p.Running-p.PeakToPeak/2, p.Running+p.PeakToPeak/2
	return c, nil
}

// toolLimit is the permissible error of a connected torque wrench, per cent.
// Where the sheet has none it is what ISO 6789-1 permits one that need not reach
// further than a preload.
func (m *turning) toolLimit() float64 {
	if pct := m.Sheet.Preload.ToolMPEPct; pct > 0 {
		return pct
	}
	return torque.ToolLimit(m.Spec.Limits.Upper)
}

func (m *turning) Progress() Progress {
	return plainProgress(m.level, !math.IsNaN(m.from) && m.level > 0)
}

// Ask says how to turn, and whether the seal belongs in for it: a new seal drags
// about as much as a light preload (common practice, no source).
func (m *turning) Ask(At) string {
	text := "Turn the pinion steadily, one turn in one or two seconds, then let go."
	if seal := m.Sheet.PreloadOf(m.Of.Name).WithSeal; seal != nil && *seal {
		return text + " The seal is fitted for it."
	} else if seal != nil {
		return text + " The seal is not fitted yet."
	}
	return text
}
