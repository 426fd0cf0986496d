package report

import (
	"fmt"
	"math"
	"strings"

	"crownlog/logger"
)

// stagePicture draws, for each stage, the mean backlash with its range from
// tightest to loosest position, over the entered window.
func stagePicture(rounds []Round) *drawing {
	s := newSpan()
	var words []string
	for _, r := range rounds {
		s.add(r.Round.Tightest.Value, r.Round.Loosest.Value, r.Spec.Limits.Lower, r.Spec.Limits.Upper)
		words = append(words, fmt.Sprintf("%s: mean %s, from %s to %s", stageTitle(r.Stage),
			r.Format.Quantity(r.Round.Mean), r.Format.Figure(r.Round.Tightest.Value), r.Format.Quantity(r.Round.Loosest.Value)))
	}
	if s.empty() {
		s.add(0, 1)
	}
	margin := 0.2 * (s.high - s.low)
	c := newChart(chartWidth, chartHeight, s.low-margin, s.high+margin, "mm", "Backlash from stage to stage", strings.Join(words, "; ")+".")
	c.y = newFixedScale(s.low-margin, s.high+margin, c.bottom, c.top, 4)
	limits := rounds[len(rounds)-1].Spec.Limits
	c.band(limits.Lower, limits.Upper)
	c.grid()
	step := (c.right - c.left) / float64(len(rounds))
	var means []point
	for i, r := range rounds {
		x := c.left + (float64(i)+0.5)*step
		if !math.IsNaN(r.Round.Mean) {
			means = append(means, point{x, c.y.at(r.Round.Mean)})
		}
	}
	c.polyline(inkDashed, means, false)
	for i, r := range rounds {
		x := c.left + (float64(i)+0.5)*step
		c.stage(x, r)
		if !math.IsNaN(r.Round.Mean) {
			c.verdictMark(r.Round.Verdict, point{x, c.y.at(r.Round.Mean)}, 5.5)
		}
		c.under(x, shortStage(r.Stage), true)
	}
	return c.drawing
}

// stage draws the range of one round at x.
func (c chart) stage(x float64, r Round) {
	low, high := c.y.at(r.Round.Tightest.Value), c.y.at(r.Round.Loosest.Value)
	if math.IsNaN(low) || math.IsNaN(high) {
		return
	}
	c.rect(ink{fill: colourPaper, stroke: colourRule, width: 0.8}, x-5, high, 10, low-high)
	f := r.Format
	c.write(inkSoft, label{at: point{x, high - 4}, anchor: anchorMiddle, size: 9, text: f.Figure(r.Round.Loosest.Value)})
	c.write(inkSoft, label{at: point{x, low + 11}, anchor: anchorMiddle, size: 9, text: f.Figure(r.Round.Tightest.Value)})
}

// shortStage is a stage in the width of a chart's column.
func shortStage(stage string) string {
	switch stage {
	case logger.StageBench:
		return "bench"
	case logger.StageCaps:
		return "caps"
	}
	return stageTitle(stage)
}
