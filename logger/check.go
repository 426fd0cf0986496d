package logger

import (
	"fmt"

	"crownlog/analysis"
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
	Severity Severity
	Where    string // "window backlash", "bolts bolt-torque-caps"
	Text     string
}

// findings collects what Check finds.
type findings []Finding

func (f *findings) add(s Severity, where, format string, args ...any) {
	*f = append(*f, Finding{s, where, fmt.Sprintf(format, args...)})
}

// Check looks for misprints, and for what will limit the verdicts. It never
// refuses: the maker's manual is right where it differs.
func (s Sheet) Check() []Finding {
	var f findings
	f.backlash(s)
	f.gears(s)
	for _, w := range s.Windows {
		if w.Default {
			f.add(Warning, "window "+w.Feature, "this is a default (%s): put the maker's figure in", orElse(w.Source, "no source"))
		}
		if w.Source == "" {
			f.add(Advice, "window "+w.Feature, "note the page of the manual as source")
		}
	}
	for _, b := range s.Bolts {
		f.bolts(b)
	}
	return f
}

func (f *findings) backlash(s Sheet) {
	where := "window " + FeatureBacklash
	if _, ok := s.window(FeatureBacklash); !ok {
		f.add(Warning, where, "there is no backlash window: values are recorded, not judged")
		return
	}
	f.convention(s)
	f.gauge(s)
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
		f.add(Warning, "plunger", "the manual means %s, the plunger reads %s, and the angles to convert are not known: the doubt is carried as uncertainty",
			orElse(p.Spec, "unknown"), orElse(p.Measured, "unknown"))
	}
	if (p.ContactRadius > 0) != (p.HeelRadius > 0) {
		f.add(Advice, "plunger", "give both radii, or the reading cannot be brought to the heel")
	}
}

// gauge says whether the gauge can decide the window.
func (f *findings) gauge(s Sheet) {
	l := s.Window(FeatureBacklash).Limits
	if s.Gauge.ResolutionMM <= 0 || !l.Any() {
		return
	}
	r := Round{cfg: RoundConfig{Sheet: s}, feat: features[FeatureBacklash], resolution: s.Gauge.ResolutionMM}
	if ratio, ok := analysis.Capability(l, r.keyedUncertainty()); !ok {
		f.add(Warning, "gauge", "too coarse for the window: width over uncertainty is %.1f, at least 3.92 is needed", ratio)
	}
	if s.Gauge.MPEMM == 0 {
		f.add(Advice, "gauge", "the gauge's permissible error is not entered: the uncertainty leaves it out")
	}
}

func (f *findings) gears(s Sheet) {
	g := s.GearSet
	if g.PinionTeeth == 0 || g.WheelTeeth == 0 {
		f.add(Advice, "gear_set", "count the teeth: positions by whole pinion turns and the adjuster's gain come from them")
		return
	}
	if ratio := float64(g.WheelTeeth) / float64(g.PinionTeeth); ratio < 2.5 || ratio > 8 {
		f.add(Doubt, "gear_set", "%d to %d teeth is a ratio of %.2f; axles have 2.5 to 8", g.PinionTeeth, g.WheelTeeth, ratio)
	}
}

func (f *findings) bolts(b BoltList) {
	where := "bolts " + b.Feature
	if b.Thread == "" || b.Class == "" {
		f.add(Advice, where, "with thread and class the torque can be checked against the bolt")
		return
	}
	ceiling, err := analysis.BoltCeiling(b.Thread, b.Class)
	if err != nil {
		f.add(Doubt, where, "%v", err)
		return
	}
	if t := b.TargetNm(); t > ceiling {
		f.add(Doubt, where, "%.0f N·m is more than an %s bolt of class %s stands (%.0f N·m): is the unit right?", t, b.Thread, b.Class, ceiling)
	}
}
