package logger

import (
	"errors"
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/rocking"
	"crownlog/device"
)

// A keyedMeasure takes one value as one capture and goes on.
type keyedMeasure struct{ r *Round }

func (m keyedMeasure) add(s analysis.Sample, rd device.Reading) error {
	if m.r.done {
		m.r.warn(allStored)
		return nil
	}
	return m.r.keyed(s.X, rd)
}

func (keyedMeasure) accept() (Capture, error) {
	return Capture{}, errors.New("type the value")
}

func (keyedMeasure) reset() {}

func (keyedMeasure) fill(v *View) { v.Needed = 1 }

// keyed stores a value in the feature's unit and goes to the next visit.
func (r *Round) keyed(v float64, rd device.Reading) error {
	if err := r.unanswered(v); err != nil {
		return err
	}
	if err := r.plausible(v); err != nil {
		r.warn(capitalise(err.Error()) + ".")
		return nil
	}
	if r.restrikeBlocked() || r.doubted(v) {
		return nil
	}
	k := r.current
	nan := math.NaN()
	c := Capture{
		Time: rd.Time, Value: v, U: r.keyedUncertainty(v), N: 1, Low: nan, High: nan, Repeatability: nan, RadiusMM: nan,
		Quality: QualityKeyed, Gauge: rd.Gauge, Pass: r.passNote(),
	}
	if r.feat.kind == kindRocking {
		c = r.keyedBacklash(c)
	}
	if err := r.capture(c); err != nil {
		return err
	}
	if !r.done {
		r.advance()
	}
	r.sayOverTorque(r.visits[k], v)
	return nil
}

// keyedBacklash corrects a backlash read off the dial as one that is measured.
func (r *Round) keyedBacklash(c Capture) Capture {
	s := r.cfg.Sheet
	k := s.readingFactor()
	c.Value *= k
	variance := c.U * c.U * k * k
	for _, doubt := range rocking.PlungerDoubts(c.Value, s.Plunger.CosineDeg, s.radiusRatio()) {
		variance += doubt.Contribution() * doubt.Contribution()
	}
	c.U = math.Sqrt(variance)
	return s.asMeasured(c)
}

// plausible refuses a keyed value that cannot be.
func (r *Round) plausible(v float64) error {
	switch r.feat.kind {
	case kindPattern:
		if v < -1 || v > 1 {
			return fmt.Errorf("%g is off the tooth: want -1 to +1", v)
		}
	case kindRocking, kindBolts, kindTurning, kindCount:
		if v < 0 {
			return fmt.Errorf("%g is negative: %s cannot be", v, r.feat.title)
		}
	}
	return nil
}

// keyedUncertainty is the standard uncertainty of one value v read off the
// gauge: half a count either way, twice where the value is a difference of two
// readings, and the gauge's permissible error. It is NaN when nothing is known,
// and for a preload whose tool is not: that may be a wrench or a spring scale.
// Source: JCGM 100:2008, 4.3.7 and F.2.2.1.
func (r *Round) keyedUncertainty(v float64) float64 {
	d := gum.Resolution(r.resolution)
	u2 := d * d
	switch r.feat.kind {
	case kindRocking:
		u2 *= 2
	case kindBolts:
		b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
		return b.pullUncertainty(v, r.resolution)
	case kindTurning:
		pct := r.cfg.Sheet.Preload.ToolMPEPct
		if !(pct > 0) {
			return math.NaN()
		}
		tool := gum.Rectangular(v * pct / 100)
		u2 += tool * tool
	}
	if r.feat.quantity == "length" {
		mpe := gum.Rectangular(r.cfg.Sheet.Gauge.MPEMM)
		u2 += mpe * mpe
	}
	if u2 == 0 {
		return math.NaN()
	}
	return math.Sqrt(u2)
}
