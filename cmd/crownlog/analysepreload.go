package main

import (
	"fmt"
	"io"
	"math"
	"slices"

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

	digits int
}

// preload measures the turning torque of bearings.
func (c *analyseCmd) preload(t *trace) (result, error) {
	samples, err := t.samples()
	if err != nil {
		return nil, err
	}
	p := torque.MeasurePreload(samples, torque.PreloadOptions{Resolution: c.Resolution, MPEPercent: c.MPEPct})
	res := &preloadResult{
		Feature: "preload", Unit: "N·m", Running: number(p.Running), Breakaway: number(p.Breakaway),
		PeakToPeak: number(p.PeakToPeak), U: number(p.StandardUncertainty), digits: t.digits(),
		trouble: newTrouble(p.Refused, p.Faults, slices.Concat(t.unitNotes(), c.toolNotes(), words.Notes(p.Notes))...),
	}
	if !p.Refused {
		u := p.StandardUncertainty
		if !(c.MPEPct > 0) {
			u = math.NaN()
		}
		res.judgement = c.judge(p.Running, u, "N·m")
	}
	return res, nil
}

// text prints the verdict, then the numbers behind it.
func (r *preloadResult) text(w io.Writer) {
	nm := func(v number) string { return decimal(float64(v), r.digits, r.Unit) }
	if r.Refused {
		fmt.Fprintln(w, "Preload could not be measured")
	} else {
		fmt.Fprintf(w, "Running torque %s\n", nm(r.Running))
	}
	if r.judgement != nil {
		fmt.Fprintln(w, r.sentence(r.Unit))
	}
	table(w,
		[2]string{"breakaway", nm(r.Breakaway)},
		[2]string{"peak to peak", nm(r.PeakToPeak)},
		[2]string{"standard uncertainty", uncertain(float64(r.U), r.Unit)},
	)
	r.trouble.text(w)
}
