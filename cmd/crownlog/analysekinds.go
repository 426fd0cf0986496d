package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/analysis/rocking"
	"crownlog/analysis/runout"
	"crownlog/analysis/torque"
	"crownlog/analysis/units"
	"crownlog/logger/export"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

// traceKinds are what a trace can be.
var traceKinds = map[string]struct {
	unit    string // rows are read in
	failed  string // says that nothing could be measured
	measure func(*analyseCmd, *trace, *result) error
}{
	"backlash":  {"mm", "Backlash could not be measured", (*analyseCmd).backlash},
	"runout":    {"mm", "Run-out could not be measured", (*analyseCmd).runout},
	"torque":    {"N·m", "No pull could be measured", (*analyseCmd).torque},
	"preload":   {"N·m", "Preload could not be measured", (*analyseCmd).preload},
	"leak-down": {"kPa", "Leak-down could not be measured", (*analyseCmd).leakDown},
}

// backlash measures a rocking trace in constant memory.
func (c *analyseCmd) backlash(t *trace, r *result) error {
	rocking := rocking.New(rocking.Options{
		Resolution: c.Resolution, CosineDeg: c.CosineDeg, RadiusRatio: c.RadiusRatio, Quiet: true,
	})
	if err := t.each(func(row export.Row) { rocking.Add(sampleOf(row)) }); err != nil {
		return err
	}
	b := rocking.Result()
	r.seen, r.refused, r.faults, r.notes = rocking.Explain, b.Refused, b.Faults, words.Notes(b.Notes)
	if len(t.flips) > 0 && !slices.Contains(r.faults, analysis.UnitFlip) {
		r.faults = append(slices.Clone(r.faults), analysis.UnitFlip)
	}
	if b.Refused {
		b.Value, b.StandardUncertainty, b.ExpandedUncertainty = math.NaN(), math.NaN(), math.NaN()
	}
	r.headline = "Backlash " + withDoubt(b.Value, b.ExpandedUncertainty, t.digits(), "mm") + " (95 %)"
	r.digits, r.expanded = t.digits(), b.ExpandedUncertainty
	c.state(r, "value", b.Value, "standard_uncertainty", b.StandardUncertainty, "mm")
	r.add("rocks", "rocks", strconv.Itoa(b.Rocks), b.Rocks)
	r.figure("low stop", "low_stop", b.LowStop)
	r.figure("high stop", "high_stop", b.HighStop)
	r.rows = append(r.rows,
		[]string{"  repeatability", uncertain(b.Repeatability, "mm")},
		[]string{"  taken off for give", withDoubt(b.GiveWay, 2*b.GiveWayU, r.digits, "mm")})
	return nil
}

// runout measures indexed points, or a continuous turn where the file has no
// angles.
func (c *analyseCmd) runout(t *trace, r *result) error {
	m, err := c.measureRunout(t)
	if err != nil {
		return err
	}
	r.digits, r.expanded = t.digits(), gum.Coverage*m.FIMU
	mm := func(v float64) string { return decimal(v, r.digits, "mm") }
	r.refused, r.faults, r.notes = m.Refused, m.Faults, words.Notes(m.Notes)
	r.headline = "Run-out " + withDoubt(m.FIM, r.expanded, r.digits, "mm") + " full indicator movement"
	c.state(r, "fim", m.FIM, "standard_uncertainty", m.FIMU, "mm")
	if r.judged != nil && len(m.Doubtful) > 0 {
		*r.judged = judgement{gum.NotDecided, math.NaN(), "a reading is in doubt", r.judged.limits}
	}
	for i, h := range []*analysis.Harmonic{m.H1, m.H2} {
		shown := "-"
		if h != nil {
			shown = fmt.Sprintf("%s, high at %.0f°", mm(h.Movement()), h.PhaseDeg)
		}
		r.add([]string{"once a turn", "twice a turn"}[i], fmt.Sprintf("h%d", i+1), shown, report.HarmonicObject(h, r.carried))
	}
	r.add("remainder", "residual_sd", uncertain(m.ResidualSD, "mm"), r.carried(m.ResidualSD))
	r.figure("if re-seated", "fim_if_reseated", m.FIMIfReseated)
	spikes := []report.Object{}
	for _, s := range m.Spikes {
		r.rows = append(r.rows, []string{"  spike", fmt.Sprintf("%s at %.0f°", mm(s.Height), s.AngleDeg)})
		spikes = append(spikes, report.Object{{"angle_deg", units.RoundTo(s.AngleDeg, 0.1)}, {"value", r.carried(s.Value)}, {"height", r.carried(s.Height)}, {"repeats", s.Repeats}})
	}
	r.values = append(r.values, given(true, "spikes", spikes)...)
	return nil
}

func (c *analyseCmd) measureRunout(t *trace) (runout.Result, error) {
	options := runout.Options{Resolution: c.Resolution}
	if !t.HasAngle {
		samples, err := collect(t, sampleOf)
		return runout.MeasureTurn(samples, options), err
	}
	points, err := collect(t, func(row export.Row) runout.Point { return runout.Point{AngleDeg: row.AngleDeg, Value: row.Value} })
	return runout.Measure(points, options), err
}

// torque finds the pulls of a wrench's trace. Each is judged by itself.
func (c *analyseCmd) torque(t *trace, r *result) error {
	var broken error
	// All of them, for a click is over in a reading or two; a second time from the
	// beginning where the threshold is not known.
	samples := func(yield func(analysis.Sample) bool) {
		if broken == nil && t.rows > 0 {
			broken = t.again()
		}
		if broken == nil {
			broken = t.each(func(row export.Row) { yield(sampleOf(row)) })
		}
	}
	m := torque.Measure(samples, torque.Options{Target: c.Target, Threshold: c.Threshold})
	if broken != nil {
		return broken
	}
	r.refused, r.faults, r.notes = m.Refused, m.Faults, append(c.toolNotes(), words.Notes(m.Notes)...)
	r.headline = count(len(m.Peaks), "pull") + " above " + decimal(m.Threshold, t.digits(), "N·m")
	peaks := []report.Object{}
	for i, p := range m.Peaks {
		u, expanded := c.toolUncertainty(p.Value, t)
		judged := c.judge(p.Value, u, "N·m")
		line := fmt.Sprintf("%s at %.2f s", withDoubt(p.Value, expanded, t.digits(), "N·m"), p.Time) +
			words.Given(p.DoubleStrike, ", struck twice")
		if judged != nil {
			line += ", " + judged.verdict.String()
		}
		r.rows = append(r.rows, []string{fmt.Sprintf("  pull %d", i+1), line})
		r.outside = r.outside || judged.outside()
		peaks = append(peaks, slices.Concat(
			report.Object{{"time", p.Time}, {"value", gum.Carried(p.Value, expanded, t.digits())}, {"expanded_uncertainty", gum.RoundedU(expanded)}, {"double_strike", p.DoubleStrike}}, judged.object()))
	}
	r.values = report.Object{{"peaks", peaks}, {"threshold", gum.Carried(m.Threshold, math.NaN(), t.digits())}}
	return nil
}

// toolUncertainty is the standard uncertainty of a torque read with a tool of
// the permissible error given, NaN where none was. The expanded one covers 95 % of
// the same two rectangles: no more than they span.
func (c *analyseCmd) toolUncertainty(value float64, t *trace) (u, expanded float64) {
	if !(c.MPEPct > 0) {
		return math.NaN(), math.NaN()
	}
	mpe, step := value*c.MPEPct/100, cmp.Or(c.Resolution, math.Pow10(-t.digits())) // of the display, or the last digit
	return math.Hypot(gum.Rectangular(mpe), gum.Resolution(step)), gum.Convolved(0, mpe, step/2)
}

// toolNotes says what is missing to judge a torque by the limits.
func (c *analyseCmd) toolNotes() []string {
	if c.MPEPct > 0 || c.Lower == nil && c.Upper == nil {
		return nil
	}
	return []string{"how far the torque tool may be off is not known: give --mpe-pct to have the limits decided"}
}

// preload measures the turning torque of bearings. How far the tool may be off
// is most of its uncertainty: without that the limits are not decided.
func (c *analyseCmd) preload(t *trace, r *result) error {
	samples, err := collect(t, sampleOf)
	if err != nil {
		return err
	}
	p := torque.MeasurePreload(samples, torque.PreloadOptions{Resolution: c.Resolution, MPEPercent: c.MPEPct})
	r.refused, r.faults, r.notes = p.Refused, p.Faults, append(c.toolNotes(), words.Notes(p.Notes)...)
	r.digits, r.expanded = t.digits(), gum.Coverage*p.StandardUncertainty
	r.headline = "Running torque " + decimal(p.Running, r.digits, "N·m")
	r.figure("breakaway", "breakaway", p.Breakaway)
	r.figure("peak to peak", "peak_to_peak", p.PeakToPeak)
	c.state(r, "running", p.Running, "standard_uncertainty", p.StandardUncertainty, "N·m")
	if r.judged != nil && !(c.MPEPct > 0) {
		r.judged = c.judge(p.Running, math.NaN(), "N·m")
	}
	return nil
}

// leakDown measures the loss of pressure of an isolated line; the limits are of
// the rate.
func (c *analyseCmd) leakDown(t *trace, r *result) error {
	samples, err := collect(t, func(row export.Row) leak.Sample {
		return leak.Sample{T: row.T, P: row.Value, TempC: row.TemperatureC}
	})
	if err != nil {
		return err
	}
	const rateUnit = "kPa/min"
	l := leak.Measure(samples, leak.Options{AmbientKPa: c.AmbientKPa, Resolution: c.Resolution})
	r.refused, r.faults, r.notes = l.Refused, l.Faults, words.Notes(l.Notes)
	r.headline = "Losing "
	if l.RatePerMin < 0 {
		r.headline = "Gaining "
	}
	dropU := gum.Coverage * l.DropU
	r.digits, r.expanded = t.digits(), gum.Coverage*l.RateU
	r.headline += withDoubt(math.Abs(l.RatePerMin), r.expanded, max(r.digits, 2), rateUnit)
	c.state(r, "rate_kpa_per_min", l.RatePerMin, "rate_standard_uncertainty", l.RateU, rateUnit)
	r.add("drop", "drop_kpa", withDoubt(l.Drop, dropU, r.digits, "kPa"), gum.Carried(l.Drop, dropU, r.digits))
	r.values = append(r.values, given(true, "drop_expanded_uncertainty", gum.RoundedU(dropU))...)
	return nil
}
