package main

import (
	"fmt"
	"math"

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
}

// A peakView is one pull of the wrench.
type peakView struct {
	Time         number `json:"time"`
	Value        number `json:"value"`
	DoubleStrike bool   `json:"double_strike"`
	*judgement
}

// torque finds the pulls of a wrench's trace. Each is judged by itself.
func (c *analyseCmd) torque(t *trace) (result, error) {
	samples, err := t.samples()
	if err != nil {
		return result{}, err
	}
	m := torque.Measure(samples, torque.Options{Target: c.Target, Threshold: c.Threshold})
	nm := func(v float64) string { return decimal(v, t.digits(), "N·m") }
	res := result{
		headline: fmt.Sprintf("%d pulls above %s", len(m.Peaks), nm(m.Threshold)),
		failed:   "No pull could be measured",
		trouble:  newTrouble(m.Refused, m.Faults, t.unitNotes(), c.toolNotes(), words.Notes(m.Notes)),
	}
	peaks := []peakView{}
	for i, p := range m.Peaks {
		judged := c.judge(trouble{}, p.Value, c.toolUncertainty(p.Value, t), "N·m")
		line := fmt.Sprintf("%s at %.2f s", nm(p.Value), p.Time)
		if p.DoubleStrike {
			line += ", struck twice"
		}
		if judged != nil {
			line += ", " + judged.Verdict
		}
		res.rows = append(res.rows, []string{fmt.Sprintf("  pull %d", i+1), line})
		res.outside = res.outside || judged.outside()
		peaks = append(peaks, peakView{Time: number(p.Time), Value: number(p.Value), DoubleStrike: p.DoubleStrike, judgement: judged})
	}
	res.json = torqueResult{Feature: "torque", Unit: "N·m", Peaks: peaks, Threshold: number(m.Threshold), trouble: res.trouble}
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
