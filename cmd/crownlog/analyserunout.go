package main

import (
	"fmt"
	"io"
	"math"

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

	u      float64 // standard uncertainty of FIM
	digits int
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
	options := runout.Options{Resolution: c.Resolution}
	var r runout.Result
	if t.HasAngle {
		points, err := t.runoutPoints()
		if err != nil {
			return nil, err
		}
		r = runout.Measure(points, options)
	} else {
		samples, err := t.samples()
		if err != nil {
			return nil, err
		}
		r = runout.MeasureTurn(samples, options)
	}
	res := &runoutResult{
		Feature: "runout", Unit: "mm", FIM: number(r.FIM), ResidualSD: number(r.ResidualSD),
		Reseated: number(r.FIMIfReseated), Spikes: []spikeView{}, u: r.FIMU, digits: t.digits(),
		trouble: newTrouble(r.Refused, r.Faults, append(t.unitNotes(), words.Notes(r.Notes)...)...),
	}
	if r.H1 != nil {
		res.H1 = newHarmonicView(*r.H1)
	}
	if r.H2 != nil {
		res.H2 = newHarmonicView(*r.H2)
	}
	for _, s := range r.Spikes {
		res.Spikes = append(res.Spikes, spikeView{number(s.AngleDeg), number(s.Value), number(s.Height), s.Repeats})
	}
	if !r.Refused {
		res.judgement = c.judge(r.FIM, r.FIMU, "mm")
	}
	if res.judgement != nil && len(r.Doubtful) > 0 {
		res.judgement.doubt("a reading is in doubt")
	}
	return res, nil
}

// runoutPoints reads all rows as indexed points.
func (t *trace) runoutPoints() ([]runout.Point, error) {
	var points []runout.Point
	err := t.each(func(row export.Row) error {
		if math.IsNaN(row.AngleDeg) {
			return fmt.Errorf("%s:%d: the row has no angle", t.name, row.Line)
		}
		points = append(points, runout.Point{AngleDeg: row.AngleDeg, Value: row.Value})
		return nil
	})
	return points, err
}

// text prints the verdict, then the numbers behind it.
func (r *runoutResult) text(w io.Writer) {
	mm := func(v number) string { return decimal(float64(v), r.digits, r.Unit) }
	harmonic := func(h *harmonicView) string {
		if h == nil {
			return "-"
		}
		return fmt.Sprintf("%s, high at %.0f°", mm(2*h.Amplitude), float64(h.PhaseDeg)) // the full movement, as FIM is
	}
	if r.Refused {
		fmt.Fprintln(w, "Run-out could not be measured")
	} else {
		fmt.Fprintf(w, "Run-out %s full indicator movement\n", mm(r.FIM))
	}
	if r.judgement != nil {
		fmt.Fprintln(w, r.sentence(r.Unit))
	}
	rows := [][2]string{
		{"standard uncertainty", uncertain(r.u, r.Unit)},
		{"once a turn", harmonic(r.H1)},
		{"twice a turn", harmonic(r.H2)},
		{"remainder", uncertain(float64(r.ResidualSD), r.Unit)},
		{"if re-seated", mm(r.Reseated)},
	}
	for _, s := range r.Spikes {
		rows = append(rows, [2]string{"spike", fmt.Sprintf("%s at %.0f°", mm(s.Height), float64(s.AngleDeg))})
	}
	table(w, rows...)
	r.trouble.text(w)
}
