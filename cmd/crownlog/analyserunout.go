package main

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/runout"
	"crownlog/logger/export"
	"crownlog/logger/words"
)

// A runoutResult is what analyse --as runout prints.
type runoutResult struct {
	Feature    string        `json:"feature"`
	Unit       string        `json:"unit"`
	FIM        number        `json:"fim"`
	H1         *harmonicView `json:"h1"`
	H2         *harmonicView `json:"h2"`
	ResidualSD number        `json:"residual_sd"`
	Reseated   number        `json:"fim_if_reseated"`
	Spikes     []spikeView   `json:"spikes"`
	trouble
	*judgement
}

type spikeView struct {
	AngleDeg number `json:"angle_deg"`
	Value    number `json:"value"`
	Height   number `json:"height"`
	Repeats  bool   `json:"repeats"`
}

// runout measures indexed points, or a continuous turn where the file has no
// angles.
func (c *analyseCmd) runout(t *trace) (result, error) {
	r, err := c.measureRunout(t)
	if err != nil {
		return result{}, err
	}
	mm := func(v float64) string { return decimal(v, t.digits(), "mm") }
	said := newTrouble(r.Refused, r.Faults, t.unitNotes(), words.Notes(r.Notes))
	judged := c.judge(said, r.FIM, r.FIMU, "mm")
	if judged != nil && len(r.Doubtful) > 0 {
		judged.doubt("a reading is in doubt")
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
	spikes := []spikeView{}
	for _, s := range r.Spikes {
		rows = append(rows, []string{"  spike", fmt.Sprintf("%s at %.0f°", mm(s.Height), s.AngleDeg)})
		spikes = append(spikes, spikeView{number(s.AngleDeg), number(s.Value), number(s.Height), s.Repeats})
	}
	return result{
		headline: "Run-out " + mm(r.FIM) + " full indicator movement", failed: "Run-out could not be measured", judged: judged, trouble: said, rows: rows,
		json: runoutResult{
			Feature: "runout", Unit: "mm", FIM: number(r.FIM), H1: newHarmonicView(r.H1), H2: newHarmonicView(r.H2),
			ResidualSD: number(r.ResidualSD), Reseated: number(r.FIMIfReseated), Spikes: spikes, trouble: said, judgement: judged,
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
