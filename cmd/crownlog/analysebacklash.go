package main

import (
	"math"
	"slices"
	"strconv"

	"crownlog/analysis"
	"crownlog/analysis/rocking"
	"crownlog/logger/export"
	"crownlog/logger/words"
)

// A backlashResult is what analyse --as backlash prints.
type backlashResult struct {
	Feature  string `json:"feature"`
	Unit     string `json:"unit"`
	Value    number `json:"value"`
	U        number `json:"standard_uncertainty"`
	Expanded number `json:"expanded_uncertainty"`
	Rocks    int    `json:"rocks"`
	LowStop  number `json:"low_stop"`
	HighStop number `json:"high_stop"`
	trouble
	*judgement
}

// backlash measures a rocking trace in constant memory.
func (c *analyseCmd) backlash(t *trace) (result, error) {
	factor, err := c.factor()
	if err != nil {
		return result{}, err
	}
	rocking := rocking.New(rocking.Options{
		Resolution: c.Resolution, CosineDeg: c.CosineDeg, RadiusRatio: c.RadiusRatio,
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
	headline := "Backlash " + withDoubt(b.Value, b.ExpandedUncertainty, digits, "mm") + " (95 %)"
	if b.UpperBound {
		headline = "Backlash is at most " + decimal(b.Value, digits, "mm")
	}
	said := newTrouble(b.Refused, faults, t.unitNotes(), converted, words.Notes(b.Notes))
	judged := c.judge(said, b.Value, b.StandardUncertainty, "mm")
	return result{
		headline: headline, failed: "Backlash could not be measured", judged: judged, trouble: said,
		rows: [][]string{
			{"  rocks", strconv.Itoa(b.Rocks)},
			{"  low stop", decimal(b.LowStop, digits, "mm")},
			{"  high stop", decimal(b.HighStop, digits, "mm")},
			{"  repeatability", uncertain(b.Repeatability, "mm")},
			{"  standard uncertainty", uncertain(b.StandardUncertainty, "mm")},
		},
		json: backlashResult{
			Feature: "backlash", Unit: "mm", Value: number(b.Value), U: number(b.StandardUncertainty),
			Expanded: number(b.ExpandedUncertainty), Rocks: b.Rocks, LowStop: number(b.LowStop), HighStop: number(b.HighStop),
			trouble: said, judgement: judged,
		},
	}, nil
}
