package sheet

import (
	"cmp"
	"fmt"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/analysis/torque"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A Severity ranks a Finding.
type Severity string

const (
	Doubt   Severity = "doubt"   // probably a misprint or a wrong entry
	Warning Severity = "warning" // will limit what can be decided
	Advice  Severity = "advice"  // worth knowing
)

// A Finding is something in a sound sheet that is worth a second look.
type Finding struct {
	Severity Severity `json:"severity"`
	Where    string   `json:"where"` // "window backlash", "bolts bolt-torque-caps"
	Text     string   `json:"text"`
}

// findings collects what Check finds; lengths are in the manual's unit.
type findings struct {
	list   []Finding
	length words.Length
}

func (f *findings) add(s Severity, where, format string, args ...any) {
	f.list = append(f.list, Finding{s, where, fmt.Sprintf(format, args...)})
}

// Check looks for misprints, and for what will limit the verdicts, in all that
// stands in the sheet itself; CheckSheet looks at the job's steps too. It never
// refuses: the maker's manual is right where it differs.
func (s Sheet) Check() []Finding {
	f := findings{length: s.Length}
	f.backlash(s)
	f.gears(s)
	for _, w := range s.Windows {
		f.window(w)
	}
	for _, w := range s.Windows {
		if record.IsPreload(w.Feature) {
			f.preload(s.InStage(w.Stage), w.Feature)
		}
	}
	for _, b := range s.Bolts {
		f.bolts(s, b)
	}
	if s.HasLock() && s.LeakDown.TestPressure == 0 {
		f.add(Warning, "leak_down", "the lock's test pressure is not entered (test_pressure): an air test at any pressure counts")
	}
	if s.HasLock() && s.LeakDown.MaxPressure == 0 {
		f.add(Advice, "leak_down", "put the largest pressure of the lock in (max_pressure): above it a seal may burst")
	}
	return f.list
}

func (f *findings) backlash(s Sheet) {
	where := "window " + record.FeatureBacklash
	if _, ok := s.Printed(record.FeatureBacklash); !ok {
		f.add(Warning, where, "there is no backlash window: values are recorded, not judged")
		return
	}
	f.convention(s)
	f.gauge(s)
	f.doubts(Doubt, where, setup.CheckWindow(s.Window(record.FeatureBacklash).Limits, s.GearSet.WheelDiameter))
	gain, err := s.AxialGain()
	if err != nil {
		gain = setup.UsualAxialGain
	}
	face := s.Window(record.FeatureRunoutBackFace).Limits.Upper
	f.doubts(Doubt, "window "+record.FeatureRunoutBackFace, setup.CheckFace(face, gain, s.Window(record.FeatureBacklash)))
}

// convention says what is not known about how the plunger reads.
func (f *findings) convention(s Sheet) {
	p := s.Plunger
	k, known := s.PlungerFactor()
	switch {
	case known && k != 1:
		f.add(Advice, "plunger", "the manual means %s, the plunger reads %s: the window is converted by %.3f", p.Spec, p.Measured, k)
	case !conventionKnown(p.Measured) && !conventionKnown(p.Spec):
		f.add(Warning, "plunger", "neither how the plunger reads nor what the manual means is known: the two kinds of backlash differ by 1.17 to 1.32 times")
	case !known:
		f.add(Warning, "plunger", "the manual means %s, the plunger reads %s, and the angles to convert are not known: backlash is judged for all that it may be, and too close to call where that differs",
			cmp.Or(p.Spec, "unknown"), cmp.Or(p.Measured, "unknown"))
	}
	if (p.ContactRadius > 0) != (p.HeelRadius > 0) {
		f.add(Advice, "plunger", "give both radii, or the reading cannot be brought to the heel")
	}
}

// gauge says whether the gauge can decide the window.
func (f *findings) gauge(s Sheet) {
	l := s.Window(record.FeatureBacklash).Limits
	if s.Gauge.MPEMM == 0 {
		f.add(Warning, "gauge", "the permissible error of the gauge is not entered (mpe_mm): the uncertainty leaves it out and is too small")
	}
	if s.Gauge.ResolutionMM == 0 {
		f.add(Warning, "gauge", "the resolution of the gauge is not entered (resolution_mm): what is typed in has no uncertainty then, and whether the gauge can decide the window is not known")
		return
	}
	if l.Any() {
		f.doubts(Warning, "gauge", setup.CheckGauge(l, s.Gauge.ResolutionMM, s.Gauge.MPEMM, 0))
	}
}

// doubts takes over what analysis doubts.
func (f *findings) doubts(severity Severity, where string, ds []setup.Doubt) {
	for _, d := range ds {
		f.add(severity, where, "%s", words.Doubt(d, f.length))
	}
}

// columns compares a figure with the manual's other column.
func (f *findings) columns(where string, a float64, unit string, also float64, alsoUnit string, own string) {
	ds, err := setup.CheckColumns(a, cmp.Or(unit, own), also, cmp.Or(alsoUnit, own))
	if err == nil {
		f.doubts(Doubt, where, ds)
	}
}

func (f *findings) window(w Window) {
	where := "window " + w.Feature
	own := record.FeatureOf(w.Feature).Unit
	for _, pair := range [][2]*float64{{w.Lower, w.AlsoLower}, {w.Upper, w.AlsoUpper}} {
		if pair[0] != nil && pair[1] != nil {
			f.columns(where, *pair[0], w.Unit, *pair[1], w.AlsoUnit, own)
		}
	}
	if w.Default {
		f.add(Warning, where, "this is a default (%s): put the maker's figure in", cmp.Or(w.Source, "no source"))
	}
	if w.Source == "" {
		f.add(Advice, where, "note the page of the manual as source")
	}
}

// preload looks at the limits of a preload in N·m.
func (f *findings) preload(s Sheet, name string) {
	l := s.Window(name).Limits
	if l.Any() && s.PreloadOf(name).WithSeal == nil {
		f.add(Advice, "window "+name, "say in [preload] whether the manual means it with the seal fitted (with_seal): a new seal drags")
	}
	for _, v := range []float64{l.Lower, l.Upper} {
		if v > 0 {
			f.doubts(Doubt, "window "+name, setup.CheckPreload(v))
		}
	}
}

// mostSpiral is the largest usual spiral angle of a crown wheel, degrees: 25 to
// 35 is common practice. An offset pinion's own is up to 50, and is not meant.
const mostSpiral = 40

func (f *findings) gears(s Sheet) {
	g := s.GearSet
	if g.SpiralAngleDeg > mostSpiral {
		f.add(Doubt, "gear_set", "a crown wheel's spiral angle is 25 to 35 degrees, seldom above %d: %v is the pinion's?", mostSpiral, g.SpiralAngleDeg)
	}
	if g.PinionTeeth == 0 || g.WheelTeeth == 0 {
		f.add(Advice, "gear_set", "count the teeth: positions by whole pinion turns and the adjuster's gain come from them")
		return
	}
	if ratio := float64(g.WheelTeeth) / float64(g.PinionTeeth); ratio < 2.5 || ratio > 8 {
		f.add(Doubt, "gear_set", "%d to %d teeth is a ratio of %.2f; axles have 2.5 to 8", g.PinionTeeth, g.WheelTeeth, ratio)
	}
	// The same teeth meet again and again where the counts have a common divisor,
	// and have worn together. Common practice in axle handbooks.
	d := g.PinionTeeth
	for rest := g.WheelTeeth; rest != 0; {
		d, rest = rest, d%rest
	}
	if d > 1 {
		f.add(Advice, "gear_set", "%d and %d teeth can both be divided by %d: a non-hunting set, whose same teeth always meet. Mark a pair in mesh before the strip, and bring the marks together again",
			g.PinionTeeth, g.WheelTeeth, d)
	}
}

// The wheel and cap bolts of axles take so much, N·m: 49 to 589 in axle handbooks.
const (
	leastTorque = 20
	mostTorque  = 700
)

func (f *findings) bolts(s Sheet, b BoltList) {
	where := "bolts " + b.Feature
	if b.AlsoTarget > 0 {
		f.columns(where, b.Target, b.Unit, b.AlsoTarget, b.AlsoUnit, "N·m")
	}
	target := b.TargetNm()
	if target < leastTorque || target > mostTorque {
		f.add(Doubt, where, "%.4g N·m is no torque of an axle's bolts, which take %d to %d: a slip, or another unit?", target, leastTorque, mostTorque)
	}
	if _, ok := gum.Capability(s.Window(b.Feature).Limits, b.PullUncertainty(target, 0)); !ok {
		f.add(Warning, where, "a wrench with this permissible error cannot decide a tolerance of %.0f %%: enter wrench_mpe_pct from its certificate, or the manual's tolerance_pct", b.Tolerance()*100)
	}
	if b.Thread == "" || b.Class == "" {
		f.add(Advice, where, "with thread and class the torque can be checked against the bolt")
		return
	}
	if _, err := torque.BoltCeiling(b.Thread, b.Class); err != nil {
		f.add(Warning, where, "%v: the torque is not checked against the bolt; write the thread as M12x1.25 and the class as 10.9", err)
	}
	f.doubts(Doubt, where, setup.CheckBoltTorque(target, b.Thread, b.Class))
	if b.ThreadLocker && b.OpenTimeMin == 0 {
		f.add(Advice, where, "the locker's open time is taken as %.0f minutes: put its maker's figure in", b.OpenMinutes())
	}
}
