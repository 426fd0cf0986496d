// Package analysis turns gauge samples into measured quantities with an
// uncertainty. It is pure: it takes slices, returns structs, reads no clock
// and does no I/O. Lengths are millimetres, torques N·m, pressures kPa,
// angles degrees and times seconds unless a name says otherwise.
package analysis

import "crownlog/analysis/internal/stat"

// A Sample is one reading of a gauge: T in seconds from any fixed origin, X in
// the quantity's unit.
type Sample struct{ T, X float64 }

// A Fault names one reason not to trust a measurement. The words are part of
// the output format and do not change.
type Fault string

const (
	TooFewRocks Fault = "too-few-rocks" // fewer than three sound rocks
	NoDwell     Fault = "no-dwell"      // the wheel never rested at its stops
	PinionSlip  Fault = "pinion-slip"   // one stop drifts while the other stays: the pinion is not held
	BaseCreep   Fault = "base-creep"    // both stops drift alike: the gauge's base is moving
	ZeroShift   Fault = "zero-shift"    // both stops stepped alike: zero pressed or gauge bumped
	UnitFlip    Fault = "unit-flip"     // the scale changed by 25.4
	OffGear     Fault = "off-gear"      // the plunger left the tooth
	EndOfTravel Fault = "end-of-travel" // one stop perfectly flat and identical every time
	EndFloat    Fault = "end-float"     // a third level: the carrier moves along its axis
	Frozen      Fault = "frozen"        // the value stopped changing: hold mode or a sleeping gauge
	Gaps        Fault = "gaps"          // readings missing where they were needed

	TooShort       Fault = "too-short"       // too few readings, or too little time covered
	NotSteady      Fault = "not-steady"      // no steady turning to take a running torque from
	NoPull         Fault = "no-pull"         // no pull on a bolt was seen
	NotPressurised Fault = "not-pressurised" // no pressure that could leak
)

// Span returns the seconds from the first sample to the last, 0 for none.
func Span(s []Sample) float64 {
	if len(s) == 0 {
		return 0
	}
	return s[len(s)-1].T - s[0].T
}

// Values returns the readings without their times.
func Values(s []Sample) []float64 {
	return column(s, func(q Sample) float64 { return q.X })
}

// Times returns the times without their readings.
func Times(s []Sample) []float64 {
	return column(s, func(q Sample) float64 { return q.T })
}

func column(s []Sample, of func(Sample) float64) []float64 {
	x := make([]float64, len(s))
	for i, q := range s {
		x[i] = of(q)
	}
	return x
}

// InOrder returns the samples that are numbers and come later than the one
// before, and how many gaps are between them: intervals of ten times the usual
// one and of more than least seconds. reading gives the time and the value of one.
func InOrder[S any](samples []S, reading func(S) Sample, least float64) (kept []S, gaps int) {
	var steps []float64
	last := 0.0
	for _, s := range samples {
		q := reading(s)
		if !stat.Sensible(q.T) || !stat.Sensible(q.X) || len(kept) > 0 && q.T <= last {
			continue
		}
		if len(kept) > 0 {
			steps = append(steps, q.T-last)
		}
		kept, last = append(kept, s), q.T
	}
	usual := stat.Median(steps)
	for _, d := range steps {
		if d > 10*usual && d > least {
			gaps++
		}
	}
	return kept, gaps
}

// Reading is the sample itself, for InOrder.
func (s Sample) Reading() Sample { return s }
