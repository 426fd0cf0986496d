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
	"crownlog/analysis/setup"
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
	measure func(*analyseCmd, *trace) (result, error)
}{
	"backlash":  {"mm", "Backlash could not be measured", (*analyseCmd).backlash},
	"runout":    {"mm", "Run-out could not be measured", (*analyseCmd).runout},
	"torque":    {"N·m", "No pull could be measured", (*analyseCmd).torque},
	"preload":   {"N·m", "Preload could not be measured", (*analyseCmd).preload},
	"leak-down": {"kPa", "Leak-down could not be measured", (*analyseCmd).leakDown},
}

// backlash measures a rocking trace in constant memory.
func (c *analyseCmd) backlash(t *trace) (result, error) {
	factor, err := c.factor()
	if err != nil {
		return result{}, err
	}
	rocking := rocking.New(rocking.Options{
		Resolution: c.Resolution, CosineDeg: c.CosineDeg, RadiusRatio: c.RadiusRatio, Quiet: true,
	})
	err = t.each(func(row export.Row) error {
		rocking.Add(analysis.Sample{T: row.T, X: row.Value})
		return nil
	})
	if err != nil {
		return result{}, err
	}
	b, converted := c.convert(rocking.Result(), factor)
	faults := b.Faults
	if len(t.flips) > 0 && !slices.Contains(faults, analysis.UnitFlip) {
		faults = append(slices.Clone(faults), analysis.UnitFlip)
	}
	if b.Refused {
		b.Value, b.StandardUncertainty, b.ExpandedUncertainty = math.NaN(), math.NaN(), math.NaN()
	}
	digits := t.digits()
	to := carried(b.ExpandedUncertainty, digits)
	headline := "Backlash " + withDoubt(b.Value, b.ExpandedUncertainty, digits, "mm") + " (95 %)"
	if b.UpperBound {
		headline = "Backlash is at most " + decimal(b.Value, digits, "mm")
	}
	return result{
		seen: rocking.Explain, headline: headline,
		judged:  c.judge(b.Refused, b.Value, b.StandardUncertainty, "mm"),
		refused: b.Refused, faults: faults, notes: append(converted, words.Notes(b.Notes)...),
		rows: [][]string{
			{"  rocks", strconv.Itoa(b.Rocks)},
			{"  low stop", decimal(b.LowStop, digits, "mm")},
			{"  high stop", decimal(b.HighStop, digits, "mm")},
			{"  repeatability", uncertain(b.Repeatability, "mm")},
			{"  standard uncertainty", uncertain(b.StandardUncertainty, "mm")},
			{"  taken off for give", withDoubt(b.GiveWay, 2*b.GiveWayU, digits, "mm")},
		},
		values: report.Object{
			{"value", to(b.Value)}, {"standard_uncertainty", twoDigits(b.StandardUncertainty)}, {"expanded_uncertainty", twoDigits(b.ExpandedUncertainty)},
			{"rocks", b.Rocks}, {"low_stop", to(b.LowStop)}, {"high_stop", to(b.HighStop)},
		},
	}, nil
}

// flangeFlags say where a backlash was read and where it is stated.
type flangeFlags struct {
	FlangeRadiusMM float64 `name:"flange-radius-mm" help:"Backlash, read at the pinion's flange with the crown wheel held: the plunger's distance from the pinion's axis in mm. Needs the next three."`
	WheelRadiusMM  float64 `name:"wheel-radius-mm" help:"Backlash: radius of the crown wheel that the value holds for, in mm; gives the angle too."`
	PinionTeeth    int     `help:"Backlash at the flange: teeth of the pinion."`
	WheelTeeth     int     `help:"Backlash at the flange: teeth of the crown wheel."`
}

// factor is what a reading is multiplied by to be the backlash at the crown
// wheel: 1 unless it was read at the flange.
func (f flangeFlags) factor() (float64, error) {
	if f.FlangeRadiusMM == 0 {
		if f.PinionTeeth != 0 || f.WheelTeeth != 0 || f.WheelRadiusMM < 0 || math.IsNaN(f.WheelRadiusMM) {
			return 0, usagef("the teeth go with --flange-radius-mm, and a radius is above 0", "--wheel-radius-mm %v, teeth %d/%d", f.WheelRadiusMM, f.PinionTeeth, f.WheelTeeth)
		}
		return 1, nil
	}
	k, err := setup.FlangeBacklash(1, f.FlangeRadiusMM, f.WheelRadiusMM, f.PinionTeeth, f.WheelTeeth)
	if err != nil {
		return 0, usagef("give --flange-radius-mm, --wheel-radius-mm, --pinion-teeth and --wheel-teeth together", "backlash at the flange: %w", err)
	}
	return k, nil
}

// convert restates b, read where the flags say, at the crown wheel. The stops
// stay as they were read. Notes say how it was done.
func (f flangeFlags) convert(b rocking.Backlash, factor float64) (rocking.Backlash, []string) {
	if b.Refused {
		return b, nil
	}
	var notes []string
	read := b.Value
	b.Value *= factor
	b.StandardUncertainty *= factor
	b.ExpandedUncertainty *= factor
	b.Repeatability *= factor
	if f.FlangeRadiusMM > 0 {
		notes = append(notes, fmt.Sprintf("read at the pinion's flange, %v mm from its axis, the crown wheel held: %.4f mm there is %.4f mm transverse at %v mm of the crown wheel (%d:%d teeth); the stops are as read",
			f.FlangeRadiusMM, read, b.Value, f.WheelRadiusMM, f.WheelTeeth, f.PinionTeeth))
	}
	if deg, err := setup.AngularBacklash(b.Value, f.WheelRadiusMM); err == nil {
		note := fmt.Sprintf("%.4f° of the crown wheel", deg)
		if f.FlangeRadiusMM == 0 {
			note += fmt.Sprintf(" at %v mm, if the plunger lay in the plane of rotation", f.WheelRadiusMM)
		}
		notes = append(notes, note)
	}
	return b, notes
}

// runout measures indexed points, or a continuous turn where the file has no
// angles.
func (c *analyseCmd) runout(t *trace) (result, error) {
	r, err := c.measureRunout(t)
	if err != nil {
		return result{}, err
	}
	expanded := gum.Coverage * r.FIMU
	mm := func(v float64) string { return decimal(v, t.digits(), "mm") }
	to := carried(expanded, t.digits())
	judged := c.judge(r.Refused, r.FIM, r.FIMU, "mm")
	if judged != nil && len(r.Doubtful) > 0 {
		*judged = judgement{gum.NotDecided, math.NaN(), "a reading is in doubt", judged.limits}
	}
	harmonic := func(h *analysis.Harmonic) string {
		if h == nil {
			return "-"
		}
		return fmt.Sprintf("%s, high at %.0f°", mm(h.Movement()), h.PhaseDeg)
	}
	rows := [][]string{
		{"  standard uncertainty", uncertain(r.FIMU, "mm")},
		{"  once a turn", harmonic(r.H1)},
		{"  twice a turn", harmonic(r.H2)},
		{"  remainder", uncertain(r.ResidualSD, "mm")},
		{"  if re-seated", mm(r.FIMIfReseated)},
	}
	spikes := []report.Object{}
	for _, s := range r.Spikes {
		rows = append(rows, []string{"  spike", fmt.Sprintf("%s at %.0f°", mm(s.Height), s.AngleDeg)})
		spikes = append(spikes, report.Object{{"angle_deg", units.RoundTo(s.AngleDeg, 0.1)}, {"value", to(s.Value)}, {"height", to(s.Height)}, {"repeats", s.Repeats}})
	}
	return result{
		headline: "Run-out " + withDoubt(r.FIM, expanded, t.digits(), "mm") + " full indicator movement",
		judged:   judged, rows: rows, refused: r.Refused, faults: r.Faults, notes: words.Notes(r.Notes),
		values: report.Object{
			{"fim", to(r.FIM)}, {"standard_uncertainty", twoDigits(r.FIMU)}, {"expanded_uncertainty", twoDigits(expanded)},
			{"h1", harmonicObject(r.H1, to)}, {"h2", harmonicObject(r.H2, to)},
			{"residual_sd", to(r.ResidualSD)}, {"fim_if_reseated", to(r.FIMIfReseated)}, {"spikes", spikes},
		},
	}, nil
}

func (c *analyseCmd) measureRunout(t *trace) (runout.Result, error) {
	options := runout.Options{Resolution: c.Resolution}
	if !t.HasAngle {
		samples, err := t.samples()
		return runout.MeasureTurn(samples, options), err
	}
	points, err := collect(t, func(row export.Row) (runout.Point, error) {
		if math.IsNaN(row.AngleDeg) {
			return runout.Point{}, fmt.Errorf("%s:%d: the row has no angle", t.name, row.Line)
		}
		return runout.Point{AngleDeg: row.AngleDeg, Value: row.Value}, nil
	})
	return runout.Measure(points, options), err
}

// torque finds the pulls of a wrench's trace. Each is judged by itself.
func (c *analyseCmd) torque(t *trace) (result, error) {
	var samples []analysis.Sample // all of them: a click is over in a reading or two
	err := t.each(func(row export.Row) error {
		samples = append(samples, analysis.Sample{T: row.T, X: row.Value})
		return nil
	})
	if err != nil {
		return result{}, err
	}
	m := torque.Measure(samples, torque.Options{Target: c.Target, Threshold: c.Threshold})
	nm := func(v float64) string { return decimal(v, t.digits(), "N·m") }
	res := result{
		headline: count(len(m.Peaks), "pull") + " above " + nm(m.Threshold),
		refused:  m.Refused, faults: m.Faults, notes: append(c.toolNotes(), words.Notes(m.Notes)...),
	}
	peaks := []report.Object{}
	for i, p := range m.Peaks {
		u, expanded := c.toolUncertainty(p.Value, t)
		judged := c.judge(false, p.Value, u, "N·m")
		line := fmt.Sprintf("%s at %.2f s", withDoubt(p.Value, expanded, t.digits(), "N·m"), p.Time)
		if p.DoubleStrike {
			line += ", struck twice"
		}
		if judged != nil {
			line += ", " + judged.verdict.String()
		}
		res.rows = append(res.rows, []string{fmt.Sprintf("  pull %d", i+1), line})
		res.outside = res.outside || judged.outside()
		peaks = append(peaks, slices.Concat(
			report.Object{{"time", p.Time}, {"value", carried(expanded, t.digits())(p.Value)}, {"expanded_uncertainty", twoDigits(expanded)}, {"double_strike", p.DoubleStrike}}, judged.object()))
	}
	res.values = report.Object{{"peaks", peaks}, {"threshold", carried(math.NaN(), t.digits())(m.Threshold)}}
	return res, nil
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
func (c *analyseCmd) preload(t *trace) (result, error) {
	samples, err := t.samples()
	if err != nil {
		return result{}, err
	}
	p := torque.MeasurePreload(samples, torque.PreloadOptions{Resolution: c.Resolution, MPEPercent: c.MPEPct})
	nm := func(v float64) string { return decimal(v, t.digits(), "N·m") }
	u, expanded := p.StandardUncertainty, gum.Coverage*p.StandardUncertainty
	to := carried(expanded, t.digits())
	if !(c.MPEPct > 0) {
		u = math.NaN()
	}
	return result{
		headline: "Running torque " + nm(p.Running),
		judged:   c.judge(p.Refused, p.Running, u, "N·m"),
		refused:  p.Refused, faults: p.Faults, notes: append(c.toolNotes(), words.Notes(p.Notes)...),
		rows: [][]string{
			{"  breakaway", nm(p.Breakaway)},
			{"  peak to peak", nm(p.PeakToPeak)},
			{"  standard uncertainty", uncertain(p.StandardUncertainty, "N·m")},
		},
		values: report.Object{
			{"running", to(p.Running)}, {"breakaway", to(p.Breakaway)}, {"peak_to_peak", to(p.PeakToPeak)},
			{"standard_uncertainty", twoDigits(p.StandardUncertainty)}, {"expanded_uncertainty", twoDigits(expanded)},
		},
	}, nil
}

// leakDown measures the loss of pressure of an isolated line; the limits are of
// the rate.
func (c *analyseCmd) leakDown(t *trace) (result, error) {
	samples, err := collect(t, func(row export.Row) (leak.Sample, error) {
		return leak.Sample{T: row.T, P: row.Value, TempC: row.TemperatureC}, nil
	})
	if err != nil {
		return result{}, err
	}
	const rateUnit = "kPa/min"
	l := leak.Measure(samples, leak.Options{AmbientKPa: c.AmbientKPa, Resolution: c.Resolution})
	headline := "Losing "
	if l.RatePerMin < 0 {
		headline = "Gaining "
	}
	rateU, dropU := gum.Coverage*l.RateU, gum.Coverage*l.DropU
	headline += withDoubt(math.Abs(l.RatePerMin), rateU, max(t.digits(), 2), rateUnit)
	return result{
		headline: headline,
		judged:   c.judge(l.Refused, l.RatePerMin, l.RateU, rateUnit),
		refused:  l.Refused, faults: l.Faults, notes: words.Notes(l.Notes),
		rows: [][]string{
			{"  standard uncertainty", uncertain(l.RateU, rateUnit)},
			{"  drop", withDoubt(l.Drop, dropU, t.digits(), "kPa")},
		},
		values: report.Object{
			{"rate_kpa_per_min", carried(rateU, 4)(l.RatePerMin)}, {"rate_standard_uncertainty", twoDigits(l.RateU)}, {"expanded_uncertainty", twoDigits(rateU)},
			{"drop_kpa", carried(dropU, t.digits())(l.Drop)}, {"drop_expanded_uncertainty", twoDigits(dropU)},
		},
	}, nil
}
