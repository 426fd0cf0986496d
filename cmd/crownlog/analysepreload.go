package main

import (
	"math"
	"slices"

	"crownlog/analysis/gum"
	"crownlog/analysis/torque"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

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
		feature: "preload", unit: "N·m", headline: "Running torque " + nm(p.Running), failed: "Preload could not be measured",
		judged:  c.judge(p.Refused, p.Running, u, "N·m"),
		refused: p.Refused, faults: p.Faults, notes: slices.Concat(t.unitNotes(), c.toolNotes(), words.Notes(p.Notes)),
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
