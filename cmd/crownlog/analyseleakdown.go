package main

import (
	"math"
	"slices"

	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/logger/export"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

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
		feature: "leak-down", unit: "kPa", headline: headline, failed: "Leak-down could not be measured",
		judged:  c.judge(l.Refused, l.RatePerMin, l.RateU, rateUnit),
		refused: l.Refused, faults: l.Faults, notes: slices.Concat(t.unitNotes(), words.Notes(l.Notes)),
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
