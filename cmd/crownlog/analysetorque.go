package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"crownlog/analysis/gum"
	"crownlog/analysis/torque"
	"crownlog/logger/words"
)

// A torqueResult is what analyse --as torque prints.
type torqueResult struct {
	Feature   string     `json:"feature"`
	Unit      string     `json:"unit"`
	Peaks     []peakView `json:"peaks"`
	Threshold number     `json:"threshold"`
	trouble

	digits int
}

// A peakView is one pull of the wrench.
type peakView struct {
	Time         number `json:"time"`
	Value        number `json:"value"`
	DoubleStrike bool   `json:"double_strike"`
	*judgement
}

// torque finds the pulls of a wrench's trace.
func (c *analyseCmd) torque(t *trace) (result, error) {
	samples, err := t.samples()
	if err != nil {
		return nil, err
	}
	m := torque.Measure(samples, torque.Options{Target: c.Target, Threshold: c.Threshold})
	res := &torqueResult{
		Feature: "torque", Unit: "N·m", Peaks: []peakView{}, Threshold: number(m.Threshold), digits: t.digits(),
		trouble: newTrouble(m.Refused, m.Faults, slices.Concat(t.unitNotes(), c.toolNotes(), words.Notes(m.Notes))...),
	}
	for _, p := range m.Peaks {
		res.Peaks = append(res.Peaks, peakView{
			Time: number(p.Time), Value: number(p.Value), DoubleStrike: p.DoubleStrike,
			judgement: c.judge(p.Value, c.toolUncertainty(p.Value, t), "N·m"),
		})
	}
	return res, nil
}

// toolUncertainty is the standard uncertainty of a torque read with a tool of
// the permissible error given, NaN where none was.
func (c *analyseCmd) toolUncertainty(value float64, t *trace) float64 {
	if !(c.MPEPct > 0) {
		return math.NaN()
	}
	step := c.Resolution
	if step == 0 {
		step = math.Pow10(-t.digits())
	}
	return math.Hypot(gum.Rectangular(value*c.MPEPct/100), gum.Resolution(step))
}

// toolNotes says what is missing to judge a torque by the limits.
func (c *analyseCmd) toolNotes() []string {
	if c.MPEPct > 0 || c.Lower == nil && c.Upper == nil {
		return nil
	}
	return []string{"how far the torque tool may be off is not known: give --mpe-pct to have the limits decided"}
}

// outside says whether a pull is outside the limits.
func (r *torqueResult) outside() bool {
	for _, p := range r.Peaks {
		if p.judgement.outside() {
			return true
		}
	}
	return false
}

// text prints the number of pulls, then each.
func (r *torqueResult) text(w io.Writer) {
	if r.Refused {
		fmt.Fprintln(w, "No pull could be measured")
	} else {
		fmt.Fprintf(w, "%d pulls above %s\n", len(r.Peaks), decimal(float64(r.Threshold), r.digits, r.Unit))
	}
	var rows [][2]string
	for i, p := range r.Peaks {
		line := decimal(float64(p.Value), r.digits, r.Unit) + fmt.Sprintf(" at %.2f s", float64(p.Time))
		if p.DoubleStrike {
			line += ", struck twice"
		}
		if p.judgement != nil {
			line += ", " + p.Verdict
		}
		rows = append(rows, [2]string{fmt.Sprintf("pull %d", i+1), line})
	}
	table(w, rows...)
	r.trouble.text(w)
}
