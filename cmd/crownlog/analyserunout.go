package main

import (
	"fmt"
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/analysis/units"
	"crownlog/logger/export"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

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
		feature: "runout", unit: "mm", headline: "Run-out " + withDoubt(r.FIM, expanded, t.digits(), "mm") + " full indicator movement", failed: "Run-out could not be measured",
		judged: judged, rows: rows, refused: r.Refused, faults: r.Faults, notes: slices.Concat(t.unitNotes(), words.Notes(r.Notes)),
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
