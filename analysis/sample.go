// Package analysis turns gauge samples into measured quantities with an
// uncertainty. It is pure: it takes slices, returns structs, reads no clock
// and does no I/O. Lengths are millimetres, torques N·m, pressures kPa,
// angles degrees and times seconds unless a name says otherwise.
package analysis

// A Sample is one reading of a gauge: T in seconds from any fixed origin, X in
// the quantity's unit.
type Sample struct{ T, X float64 }

// A Fault names one reason not to trust a measurement. The words are part of
// the output format and do not change.
type Fault string

const (
	TooFewRocks Fault = "too-few-rocks" // fewer than three sound rocks
	NoDwell     Fault = "no-dwell"      // the wheel never rested at its stops; the value is an upper bound
	PinionSlip  Fault = "pinion-slip"   // one stop drifts while the other stays: the pinion is not held
	BaseCreep   Fault = "base-creep"    // both stops drift alike: the gauge's base is moving
	ZeroShift   Fault = "zero-shift"    // both stops stepped alike: zero pressed or gauge bumped
	UnitFlip    Fault = "unit-flip"     // the scale changed by 25.4
	OffGear     Fault = "off-gear"      // the plunger left the tooth
	EndOfTravel Fault = "end-of-travel" // one stop perfectly flat and identical every time
	EndFloat    Fault = "end-float"     // a third plateau: the carrier moves along its axis
	Frozen      Fault = "frozen"        // the value stopped changing: hold mode or a sleeping gauge
	Gaps        Fault = "gaps"          // readings missing where they were needed
)

// A Verdict says what a measured value proves about a window once its
// uncertainty is counted. Source: ISO 14253-1:2017 (decision rules).
type Verdict string

const (
	Inside     Verdict = "inside"            // conformity proven
	Outside    Verdict = "outside"           // non-conformity proven
	TooClose   Verdict = "too close to call" // neither is proven
	NotDecided Verdict = ""                  // no value, no window, or something is missing
)

// String is the one spelling of a verdict.
func (v Verdict) String() string {
	if v == NotDecided {
		return "not decided"
	}
	return string(v)
}
