package logger

import (
	"errors"
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/device"
)

// The qualities of a try in which the lock failed. Such a try has no value and
// is outside whatever the window is.
const (
	qualityNoLock = "did-not-lock"
	qualityNoFree = "did-not-free"
)

// TryFailed reports whether a capture is a try in which the lock did not lock
// or did not free.
func TryFailed(c Capture) bool {
	return c.Feature == FeatureEngagement && (c.Quality == qualityNoLock || c.Quality == qualityNoFree)
}

// handTiming is the standard uncertainty, in s, of a time taken by hand. Common
// practice, no source.
const handTiming = 0.1

// An engageMeasure takes one try of the lock after the other: whether it
// locked and freed, and in what time if that was taken.
type engageMeasure struct{ r *Round }

func (m engageMeasure) reset() {}

func (m engageMeasure) fill(v *View) { v.Needed = 1 }

func (m engageMeasure) accept() (Capture, error) {
	return Capture{}, errors.New("say how it went: yes, no lock or no free")
}

func (m engageMeasure) add(s analysis.Sample, rd device.Reading) error {
	return m.typed(rd.Value, rd.Unit, rd)
}

func (m engageMeasure) typed(v float64, unit string, rd device.Reading) error {
	r := m.r
	c := Capture{
		Time: rd.Time, Gauge: rd.Gauge, Value: math.NaN(), U: math.NaN(), N: 1,
		Low: math.NaN(), High: math.NaN(), Repeatability: math.NaN(), RadiusMM: math.NaN(), Quality: QualityKeyed, Note: "locked and freed",
	}
	switch {
	case unit == tryLocked && v == 0:
		c.Quality, c.Note = qualityNoLock, ""
	case unit == tryFreed && v == 0:
		c.Quality, c.Note = qualityNoFree, "locked"
	case unit == tryFreed:
	default:
		seconds, err := r.feat.convert(v, unit)
		if err == nil && seconds < 0 {
			err = fmt.Errorf("%g is negative: a time cannot be", v)
		}
		if err != nil {
			r.warn(capitalise(err.Error()) + ".")
			return nil
		}
		if err := r.unanswered(seconds); err != nil {
			return err
		}
		if r.doubted(seconds) {
			return nil
		}
		c.Value = seconds
		c.U = math.Hypot(handTiming, gum.Resolution(math.Pow(10, -float64(typedDecimals(seconds)))))
	}
	if err := r.capture(c); err != nil {
		return err
	}
	if TryFailed(c) || !r.done {
		m.after(c)
	}
	return nil
}

// after goes on to the next try; a failed one rings.
func (m engageMeasure) after(c Capture) {
	r := m.r
	label := r.positions[r.visits[r.current].position].Label
	if !r.done {
		r.advance()
	}
	switch c.Quality {
	case qualityNoLock:
		r.raise("", capitalise(label)+": it did not lock. That is on record; look for air, wiring and travel before going on.")
	case qualityNoFree:
		r.raise("", capitalise(label)+": it did not free. That is on record; look for the return spring and load on the dogs before going on.")
	}
}
