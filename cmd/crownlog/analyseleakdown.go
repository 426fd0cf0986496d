package main

import (
	"fmt"
	"io"
	"math"

	"crownlog/analysis/leak"
	"crownlog/logger/export"
	"crownlog/logger/words"
)

// A leakResult is what analyse --as leak-down prints.
type leakResult struct {
	Feature string `json:"feature"`
	Unit    string `json:"unit"`
	Rate    number `json:"rate_kpa_per_min"`
	RateU   number `json:"rate_standard_uncertainty"`
	Drop    number `json:"drop_kpa"`
	trouble
	*judgement

	digits int
}

// leakDown measures the loss of pressure of an isolated line; the limits are of
// the rate.
func (c *analyseCmd) leakDown(t *trace) (result, error) {
	samples, err := t.leakSamples()
	if err != nil {
		return nil, err
	}
	l := leak.Measure(samples, leak.Options{AmbientKPa: c.AmbientKPa, Resolution: c.Resolution})
	res := &leakResult{
		Feature: "leak-down", Unit: "kPa", Rate: number(l.RatePerMin), RateU: number(l.RateU),
		Drop: number(l.Drop), digits: t.digits(),
		trouble: newTrouble(l.Refused, l.Faults, append(t.unitNotes(), words.Notes(l.Notes)...)...),
	}
	if !l.Refused {
		res.judgement = c.judge(l.RatePerMin, l.RateU, "kPa/min")
	}
	return res, nil
}

// leakSamples reads all rows with their temperature, NaN where there is none.
func (t *trace) leakSamples() ([]leak.Sample, error) {
	var s []leak.Sample
	err := t.each(func(row export.Row) error {
		s = append(s, leak.Sample{T: row.T, P: row.Value, TempC: row.TemperatureC})
		return nil
	})
	return s, err
}

// text prints the verdict, then the numbers behind it.
func (r *leakResult) text(w io.Writer) {
	const rateUnit = "kPa/min"
	rate := func(v number) string { return decimal(float64(v), max(r.digits, 2), rateUnit) }
	switch {
	case r.Refused:
		fmt.Fprintln(w, "Leak-down could not be measured")
	case r.Rate < 0:
		fmt.Fprintf(w, "Gaining %s\n", rate(number(math.Abs(float64(r.Rate)))))
	default:
		fmt.Fprintf(w, "Losing %s\n", rate(r.Rate))
	}
	if r.judgement != nil {
		fmt.Fprintln(w, r.sentence(rateUnit))
	}
	table(w,
		[2]string{"standard uncertainty", uncertain(float64(r.RateU), rateUnit)},
		[2]string{"drop", decimal(float64(r.Drop), r.digits, r.Unit)},
	)
	r.trouble.text(w)
}
