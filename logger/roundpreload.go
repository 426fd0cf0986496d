package logger

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/torque"
	"crownlog/device"
	"crownlog/device/frame"
)

const (
	turningSeconds = 4.0  // of turning before letting go ends the measurement
	letGoShare     = 0.3  // of the highest torque since, below which the pinion was let go
	letGoSeconds   = 0.5  // for so long
	turningSamples = 1e5  // kept at most
	turningFloor   = 0.05 // N·m that is no turning
)

// A preloadMeasure keeps the torque of one steady turning and takes it as a
// whole when the pinion is let go.
type preloadMeasure struct {
	r       *Round
	samples []analysis.Sample
	from    float64 // turning since; NaN: not turning
	until   float64 // last sample that turned
	level   float64 // slow mean of the turning torque
}

func (m *preloadMeasure) reset() {
	m.samples = m.samples[:0]
	m.from, m.level = math.NaN(), 0
}

func (m *preloadMeasure) add(s analysis.Sample, rd device.Reading) error {
	if m.r.done || m.r.captured() {
		return nil
	}
	if rd.Flags&frame.FlagPress != 0 {
		return m.r.capture(m.pressed(math.Abs(s.X)))
	}
	if len(m.samples) == 0 {
		m.from = math.NaN()
	}
	if len(m.samples) < turningSamples {
		m.samples = append(m.samples, s)
	}
	torque := math.Abs(s.X)
	if torque > math.Max(turningFloor, letGoShare*m.level) {
		if math.IsNaN(m.from) {
			m.from, m.level = s.T, torque
			m.r.state = StateMeasuring
		}
		m.level += (torque - m.level) / 32
		m.until = s.T
		return nil
	}
	return m.end()
}

// pressed is the torque that a meter sent at the press of its key.
func (m *preloadMeasure) pressed(torque float64) Capture {
	u := math.Hypot(gum.Rectangular(torque*m.r.preloadLimit()/100), gum.Resolution(m.r.resolution))
	return Capture{
		Value: torque, U: u, N: 1, Low: math.NaN(), High: math.NaN(), Repeatability: math.NaN(),
		Quality: QualityOK, Note: m.r.cfg.Sheet.Preload.Words(),
	}
}

// end takes the turning once the pinion has been let go long enough after
// turning long enough; a shorter turn is forgotten.
func (m *preloadMeasure) end() error {
	n := len(m.samples)
	if math.IsNaN(m.from) || n == 0 || m.samples[n-1].T-m.until < letGoSeconds {
		return nil
	}
	if m.until-m.from < turningSeconds {
		m.reset()
		m.r.warn("That was too short: turn the pinion steadily for a few turns.")
		return nil
	}
	return m.r.captureOf(m, "")
}

func (m *preloadMeasure) accept() (Capture, error) {
	if len(m.samples) == 0 {
		return Capture{}, errors.New("no torque yet")
	}
	p := torque.MeasurePreload(m.samples, torque.PreloadOptions{Resolution: m.r.resolution, MPEPercent: m.r.preloadLimit()})
	if p.Refused {
		return Capture{}, fmt.Errorf("the turning cannot be read: %s", strings.Join(p.Notes, "; "))
	}
	spec := m.r.cfg.Sheet.Preload
	value, starting := p.Running, spec.Kind == "starting"
	if starting {
		value = p.Breakaway
		if math.IsNaN(value) {
			return Capture{}, errors.New("the manual means the starting torque, and none stood out: start from rest")
		}
	}
	notes := append([]string{spec.Words()}, p.Notes...)
	if !math.IsNaN(p.Breakaway) && !starting {
		notes = append(notes, fmt.Sprintf("breakaway %.2f", p.Breakaway))
	}
	return Capture{
		Value: value, U: p.StandardUncertainty, N: len(m.samples),
		Low: p.Running - p.PeakToPeak/2, High: p.Running + p.PeakToPeak/2,
		Repeatability: math.NaN(), RadiusMM: math.NaN(), Quality: faultQuality(p.Faults), Note: strings.Join(notes, "; "),
	}, nil
}

// preloadLimit is the permissible error of a connected torque wrench, per cent.
// Where the sheet has none it is what ISO 6789-1 permits one that need not reach
// further than a preload.
func (r *Round) preloadLimit() float64 {
	if pct := r.cfg.Sheet.Preload.ToolMPEPct; pct > 0 {
		return pct
	}
	return torque.ToolLimit(r.spec.Limits.Upper)
}

func faultQuality(faults []analysis.Fault) string {
	if len(faults) == 0 {
		return QualityOK
	}
	return joinFaults(faults)
}

func (m *preloadMeasure) fill(v *View) {
	v.Needed = 1
	if !math.IsNaN(m.from) && m.level > 0 {
		v.Estimate = m.level
	}
}
