package main

import (
	"fmt"
	"io"
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

	repeatability float64
	upperBound    bool
	digits        int
}

// backlash measures a rocking trace in constant memory.
func (c *analyseCmd) backlash(t *trace) (result, error) {
	factor, err := c.factor()
	if err != nil {
		return nil, err
	}
	rocking := rocking.New(rocking.Options{
		Resolution: c.Resolution, CosineDeg: c.CosineDeg, RadiusRatio: c.RadiusRatio,
	})
	err = t.each(func(row export.Row) error {
		rocking.Add(analysis.Sample{T: row.T, X: row.Value})
		return nil
	})
	if err != nil {
		return nil, err
	}
	b, converted := c.convert(rocking.Result(), factor)
	faults := b.Faults
	if len(t.flips) > 0 && !slices.Contains(faults, analysis.UnitFlip) {
		faults = append(slices.Clone(faults), analysis.UnitFlip)
	}
	res := &backlashResult{
		Feature: "backlash", Unit: "mm", Value: number(b.Value), U: number(b.StandardUncertainty),
		Expanded: number(b.ExpandedUncertainty), Rocks: b.Rocks,
		LowStop: number(b.LowStop), HighStop: number(b.HighStop),
		trouble:       newTrouble(b.Refused, faults, slices.Concat(t.unitNotes(), converted, words.Notes(b.Notes))...),
		repeatability: b.Repeatability, upperBound: b.UpperBound, digits: t.digits(),
	}
	if b.Refused {
		res.Value, res.U, res.Expanded = number(math.NaN()), number(math.NaN()), number(math.NaN())
	} else {
		res.judgement = c.judge(b.Value, b.StandardUncertainty, "mm")
	}
	return res, nil
}

// text prints the verdict, then the numbers behind it.
func (r *backlashResult) text(w io.Writer) {
	mm := func(v number) string { return decimal(float64(v), r.digits, r.Unit) }
	u := func(v number) string { return uncertain(float64(v), r.Unit) }
	switch {
	case r.Refused:
		fmt.Fprintln(w, "Backlash could not be measured")
	case r.upperBound:
		fmt.Fprintf(w, "Backlash is at most %s\n", mm(r.Value))
	default:
		fmt.Fprintf(w, "Backlash %s (95 %%)\n", withDoubt(float64(r.Value), float64(r.Expanded), r.digits, r.Unit))
	}
	if r.judgement != nil {
		fmt.Fprintf(w, "%s\n", r.sentence(r.Unit))
	}
	table(w,
		[2]string{"rocks", strconv.Itoa(r.Rocks)},
		[2]string{"low stop", mm(r.LowStop)},
		[2]string{"high stop", mm(r.HighStop)},
		[2]string{"repeatability", u(number(r.repeatability))},
		[2]string{"standard uncertainty", u(r.U)},
	)
	r.trouble.text(w)
}
