package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/torque"
	"crownlog/logger/export"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

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
		feature: "torque", unit: "N·m",
		headline: count(len(m.Peaks), "pull") + " above " + nm(m.Threshold),
		failed:   "No pull could be measured",
		refused:  m.Refused, faults: m.Faults, notes: slices.Concat(t.unitNotes(), c.toolNotes(), words.Notes(m.Notes)),
	}
	peaks := []report.Object{}
	for i, p := range m.Peaks {
		u := c.toolUncertainty(p.Value, t)
		expanded := c.toolExpanded(p.Value, t)
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
// the permissible error given, NaN where none was.
func (c *analyseCmd) toolUncertainty(value float64, t *trace) float64 {
	if !(c.MPEPct > 0) {
		return math.NaN()
	}
	return math.Hypot(gum.Rectangular(value*c.MPEPct/100), gum.Resolution(c.step(t)))
}

// toolExpanded covers 95 % of the same two rectangles: no more than they span.
func (c *analyseCmd) toolExpanded(value float64, t *trace) float64 {
	if !(c.MPEPct > 0) {
		return math.NaN()
	}
	return gum.Convolved(0, value*c.MPEPct/100, c.step(t)/2)
}

// step is that of the tool's display, or the last digit of its trace.
func (c *analyseCmd) step(t *trace) float64 { return cmp.Or(c.Resolution, math.Pow10(-t.digits())) }

// toolNotes says what is missing to judge a torque by the limits.
func (c *analyseCmd) toolNotes() []string {
	if c.MPEPct > 0 || c.Lower == nil && c.Upper == nil {
		return nil
	}
	return []string{"how far the torque tool may be off is not known: give --mpe-pct to have the limits decided"}
}
