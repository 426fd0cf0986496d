package sheet

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis/rocking"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A backlash is kept with the direction in which the plunger read it and the
// radius at which its value holds, so that a later edit of the sheet cannot
// change what it means. It is converted to the convention of the sheet as it is now.

// AsMeasured completes a backlash that was just measured, by gauge or by eye:
// with the plunger's setting and its correction in words. Doubt about the
// direction is not in its uncertainty: the window is judged both ways.
func (s Sheet) AsMeasured(c record.Capture) record.Capture {
	c.Convention, c.RadiusMM = s.direction(), s.valueRadius()
	if how := s.correctionWords(); how != "" {
		c.Note = strings.TrimPrefix(c.Note+"; "+how, "; ")
	}
	return c
}

// ReadingFactor takes what the indicator reads to the backlash at the heel.
func (s Sheet) ReadingFactor() float64 {
	return rocking.PlungerFactor(s.Plunger.CosineDeg, s.RadiusRatio())
}

// correctionWords says how a reading became the value; "" where it is the value.
func (s Sheet) correctionWords() string {
	k := s.ReadingFactor()
	if k == 1 {
		return ""
	}
	p := s.Plunger
	return fmt.Sprintf("reading times %.4g", k) + words.Given(p.CosineDeg != 0, fmt.Sprintf(", plunger tilted %g°", p.CosineDeg)) +
		words.Given(s.RadiusRatio() != 1, fmt.Sprintf(", from radius %g to %g mm", p.ContactRadius, p.HeelRadius))
}

// direction is how the plunger reads now: normal, transverse or "" for unknown.
func (s Sheet) direction() string {
	if conventionKnown(s.Plunger.Measured) {
		return s.Plunger.Measured
	}
	return ""
}

// valueRadius is the radius at which a backlash measured now holds, mm: the
// heel's where readings are corrected to it, else the contact's; NaN: unknown.
func (s Sheet) valueRadius() float64 {
	switch contact, heel := s.Plunger.ContactRadius, s.Plunger.HeelRadius; {
	case contact > 0 && heel > 0:
		return heel
	case contact > 0:
		return contact
	}
	return math.NaN()
}

// Convert returns c as the sheet counts backlash now, with a note where that
// changed it. It is false, and c as it was, where one of the settings is not
// known. Captures of other features have no convention.
func (s Sheet) Convert(c record.Capture) (record.Capture, bool) {
	if !record.IsBacklash(c.Feature) {
		return c, true
	}
	k := 1.0
	if to := s.direction(); c.Convention != to {
		var err error
		if k, err = setup.ConventionFactor(c.Convention, to, s.GearSet.PressureAngleDeg, s.GearSet.SpiralAngleDeg); err != nil {
			return c, false
		}
	}
	if to := s.valueRadius(); c.RadiusMM > 0 || to > 0 {
		if !(c.RadiusMM > 0) || !(to > 0) {
			return c, false
		}
		k *= to / c.RadiusMM
	}
	if k == 1 {
		return c, true
	}
	how := fmt.Sprintf("converted: %g mm read %s", c.Value, readAs(c))
	for _, v := range []*float64{&c.Value, &c.U, &c.OwnU, &c.HandU} {
		*v = units.RoundTo(*v*k, 1e-6)
	}
	c.Convention, c.RadiusMM = s.direction(), s.valueRadius()
	c.Note = strings.TrimPrefix(c.Note+"; "+how, "; ")
	return c, true
}

// ConvertAll returns the captures with every backlash as the sheet counts it now,
// as far as that can be known. The argument is not changed.
func (s Sheet) ConvertAll(cs []record.Capture) []record.Capture {
	converted := make([]record.Capture, len(cs))
	for i, c := range cs {
		converted[i], _ = s.Convert(c)
	}
	return converted
}

// Unconvertible says why captures cannot be judged by the sheet: they were
// measured with a plunger set in another way, and what would convert them is
// not known. It is "" where they can.
func (s Sheet) Unconvertible(cs []record.Capture) string {
	for _, c := range cs {
		if _, ok := s.Convert(c); !ok {
			return fmt.Sprintf("measured %s, where job.toml now says %s: cannot be converted", readAs(c),
				readAs(record.Capture{Convention: s.direction(), RadiusMM: s.valueRadius()}))
		}
	}
	return ""
}

// ConventionWords says how backlash captures were read: "normal at 106 mm". It is "" for
// none, and for captures that differ.
func ConventionWords(cs []record.Capture) string {
	text := ""
	for _, c := range cs {
		t := readAs(c)
		if cmp.Or(text, t) != t {
			return ""
		}
		text = t
	}
	return text
}

// readAs is how a backlash was read, in words: "normal at 106 mm".
func readAs(c record.Capture) string {
	text := cmp.Or(c.Convention, "in an unknown direction")
	if c.RadiusMM > 0 {
		return text + fmt.Sprintf(" at %g mm", c.RadiusMM)
	}
	return text + " at an unknown radius"
}
