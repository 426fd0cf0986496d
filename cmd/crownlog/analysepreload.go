package main

import (
	"math"

	"crownlog/analysis/torque"
	"crownlog/logger/words"
)

// A preloadResult is what analyse --as preload prints.
type preloadResult struct {
	Feature    string `json:"feature"`
	Unit       string `json:"unit"`
	Running    number `json:"running"`
	Breakaway  number `json:"breakaway"`
	PeakToPeak number `json:"peak_to_peak"`
	U          number `json:"standard_uncertainty"`
	trouble
	*judgement
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
	u := p.StandardUncertainty
	if !(c.MPEPct > 0) {
		u = math.NaN()
	}
	said := newTrouble(p.Refused, p.Faults, t.unitNotes(), c.toolNotes(), words.Notes(p.Notes))
	judged := c.judge(said, p.Running, u, "N·m")
	return result{
		headline: "Running torque " + nm(p.Running), failed: "Preload could not be measured", judged: judged, trouble: said,
		rows: [][]string{
			{"  breakaway", nm(p.Breakaway)},
			{"  peak to peak", nm(p.PeakToPeak)},
			{"  standard uncertainty", uncertain(p.StandardUncertainty, "N·m")},
		},
		json: preloadResult{
			Feature: "preload", Unit: "N·m", Running: number(p.Running), Breakaway: number(p.Breakaway),
			PeakToPeak: number(p.PeakToPeak), U: number(p.StandardUncertainty), trouble: said, judgement: judged,
		},
	}, nil
}
