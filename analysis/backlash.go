package analysis

import "math"

// RockingOptions says what is known about the gauge and its set-up before the
// wheel is rocked. The zero value is useful: resolution is estimated from the
// readings, and nothing is corrected.
type RockingOptions struct {
	Resolution  float64 // last digit of the gauge in mm; 0: estimated from the readings
	CosineDeg   float64 // angle in degrees between the plunger and the direction of motion
	RadiusRatio float64 // heel radius over contact radius; 0: 1, no correction
	MPE         float64 // half-width in mm of the gauge's maximum permissible error; 0: unknown, left out
	MinRocks    int     // sound rocks needed for a value; 0: 3
}

// A Backlash is the play between the two stops of the wheel. Lengths are in
// the unit of the samples, mm unless the caller chose another.
type Backlash struct {
	Value               float64 // corrected for cosine and radius; NaN when refused
	StandardUncertainty float64 // NaN when refused
	ExpandedUncertainty float64 // 95 %; NaN when refused
	Rocks               int     // sound rocks, there and back
	LowStop, HighStop   float64 // levels as read, not corrected; NaN when not found
	Repeatability       float64 // standard deviation of one rock; NaN with fewer than two rocks
	Refused             bool
	UpperBound          bool     // the wheel never rested: the backlash is at most HighStop-LowStop, here the extremes read
	Faults              []Fault  // empty for a sound trace
	Notes               []string // what was set aside, and what would lessen the uncertainty
	Budget              Budget
}

// MeasureBacklash finds the backlash in the trace s of a wheel rocked by hand
// between its two stops, the pinion held. It drives a Rocking over s, so its
// result is the one the live path shows after the last sample of s. s is
// unchanged. Any input is answered: one that holds no backlash is refused with
// its fault.
func MeasureBacklash(s []Sample, o RockingOptions) Backlash {
	r := NewRocking(o)
	for _, v := range s {
		r.Add(v)
	}
	return r.Result()
}

func refusedBacklash() Backlash {
	nan := math.NaN()
	return Backlash{
		Value: nan, StandardUncertainty: nan, ExpandedUncertainty: nan,
		LowStop: nan, HighStop: nan, Repeatability: nan, Refused: true,
	}
}
