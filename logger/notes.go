package logger

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
)

// plainCapture is a capture without any number.
func plainCapture(stage, name string, at time.Time) Capture {
	nan := math.NaN()
	return Capture{
		Time: at, Stage: stage, Feature: name, AngleDeg: nan, Value: nan, U: nan,
		Low: nan, High: nan, Repeatability: nan, RadiusMM: nan, Quality: QualityOK,
	}
}

// RecordMove records an adjuster move: amount in notches, or mm of shim with
// unit "mm"; + is the crown wheel towards the pinion. A move that must not
// teach the gain, because a bearing cup did not seat, has a note that begins
// with "not seated". A move of nothing is refused: it would take away what was
// measured before it.
func RecordMove(st Store, stage string, amount float64, unit, note string, at time.Time) (Capture, error) {
	if amount == 0 || math.IsNaN(amount) || math.IsInf(amount, 0) {
		return Capture{}, fmt.Errorf("move of %v: want a number of notches or mm, not 0", amount)
	}
	if unit != "notch" && unit != "mm" {
		return Capture{}, fmt.Errorf("unit %q of a move: want notch or mm", unit)
	}
	c := plainCapture(stage, FeatureMove, at)
	c.Value, c.Unit, c.Note = amount, unit, note
	return st.Append(c)
}

// RecordNote records free text: sealant, grade of oil, anything.
func RecordNote(st Store, stage, text string, at time.Time) (Capture, error) {
	if strings.TrimSpace(text) == "" {
		return Capture{}, errors.New("the note is empty")
	}
	c := plainCapture(stage, FeatureNote, at)
	c.Note = text
	return st.Append(c)
}

// RecordOverride records that the named hold point or block was passed, and
// why. The reason is not optional.
func RecordOverride(st Store, stage, name, reason string, at time.Time) (Capture, error) {
	if strings.TrimSpace(reason) == "" {
		return Capture{}, fmt.Errorf("override of %s: a reason is needed", name)
	}
	c := plainCapture(stage, FeatureOverride, at)
	c.Note = name + ": " + reason
	return st.Append(c)
}
