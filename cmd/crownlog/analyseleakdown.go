package main

import (
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
	headline += decimal(math.Abs(l.RatePerMin), max(t.digits(), 2), rateUnit)
	said := newTrouble(l.Refused, l.Faults, t.unitNotes(), words.Notes(l.Notes))
	judged := c.judge(said, l.RatePerMin, l.RateU, rateUnit)
	return result{
		headline: headline, failed: "Leak-down could not be measured", judged: judged, trouble: said,
		rows: [][]string{
			{"  standard uncertainty", uncertain(l.RateU, rateUnit)},
			{"  drop", decimal(l.Drop, t.digits(), "kPa")},
		},
		json: leakResult{
			Feature: "leak-down", Unit: "kPa", Rate: number(l.RatePerMin), RateU: number(l.RateU), Drop: number(l.Drop),
			trouble: said, judgement: judged,
		},
	}, nil
}
