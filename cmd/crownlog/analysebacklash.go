package main

import (
	"math"
	"slices"
	"strconv"

	"crownlog/analysis"
	"crownlog/analysis/rocking"
	"crownlog/logger/export"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

// backlash measures a rocking trace in constant memory.
func (c *analyseCmd) backlash(t *trace) (result, error) {
	factor, err := c.factor()
	if err != nil {
		return result{}, err
	}
	rocking := rocking.New(rocking.Options{
		Resolution: c.Resolution, CosineDeg: c.CosineDeg, RadiusRatio: c.RadiusRatio, Quiet: true,
	})
	err = t.each(func(row export.Row) error {
		rocking.Add(analysis.Sample{T: row.T, X: row.Value})
		return nil
	})
	if err != nil {
		return result{}, err
	}
	b, converted := c.convert(rocking.Result(), factor)
	faults := b.Faults
	if len(t.flips) > 0 && !slices.Contains(faults, analysis.UnitFlip) {
		faults = append(slices.Clone(faults), analysis.UnitFlip)
	}
	if b.Refused {
		b.Value, b.StandardUncertainty, b.ExpandedUncertainty = math.NaN(), math.NaN(), math.NaN()
	}
	digits := t.digits()
	to := carried(b.ExpandedUncertainty, digits)
	headline := "Backlash " + withDoubt(b.Value, b.ExpandedUncertainty, digits, "mm") + " (95 %)"
	if b.UpperBound {
		headline = "Backlash is at most " + decimal(b.Value, digits, "mm")
	}
	return result{
		feature: "backlash", unit: "mm", seen: rocking.Explain, headline: headline, failed: "Backlash could not be measured",
		judged:  c.judge(b.Refused, b.Value, b.StandardUncertainty, "mm"),
		refused: b.Refused, faults: faults, notes: slices.Concat(t.unitNotes(), converted, words.Notes(b.Notes)),
		rows: [][]string{
			{"  rocks", strconv.Itoa(b.Rocks)},
			{"  low stop", decimal(b.LowStop, digits, "mm")},
			{"  high stop", decimal(b.HighStop, digits, "mm")},
			{"  repeatability", uncertain(b.Repeatability, "mm")},
			{"  standard uncertainty", uncertain(b.StandardUncertainty, "mm")},
			{"  taken off for give", withDoubt(b.GiveWay, 2*b.GiveWayU, digits, "mm")},
		},
		values: report.Object{
			{"value", to(b.Value)}, {"standard_uncertainty", twoDigits(b.StandardUncertainty)}, {"expanded_uncertainty", twoDigits(b.ExpandedUncertainty)},
			{"rocks", b.Rocks}, {"low_stop", to(b.LowStop)}, {"high_stop", to(b.HighStop)},
		},
	}, nil
}
