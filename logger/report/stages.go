package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"crownlog/logger/record"
)

// stagePicture draws, for each stage, the mean backlash with its range from
// tightest to loosest position, over the entered window.
func stagePicture(rounds []Round) *drawing {
	s := newSpan()
	var words []string
	for _, r := range rounds {
		s.add(r.Round.Tightest.Value, r.Round.Loosest.Value, r.Spec.Limits.Lower, r.Spec.Limits.Upper)
		words = append(words, fmt.Sprintf("%s: mean %s, from %s to %s", stageTitle(r.Stage),
			r.Format.quantity(r.Round.Mean), r.Format.figure(r.Round.Tightest.Value), r.Format.quantity(r.Round.Loosest.Value)))
	}
	if s.empty() {
		s.add(0, 1)
	}
	margin := 0.2 * (s.high - s.low)
	c := newChart(chartWidth, chartHeight+20, s.low-margin, s.high+margin, "mm", "Backlash from stage to stage", strings.Join(words, "; ")+".")
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
			c.verdictMark(r.Verdict, point{x, c.y.at(r.Round.Mean)}, 5.5)
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
	c.write(inkSoft, label{at: point{x, high - 4}, anchor: anchorMiddle, size: 9, text: f.figure(r.Round.Loosest.Value)})
	c.write(inkSoft, label{at: point{x, low + 11}, anchor: anchorMiddle, size: 9, text: f.figure(r.Round.Tightest.Value)})
}

// shortStage is a stage in the width of a chart's column.
func shortStage(stage string) string {
	switch stage {
	case record.StageBench:
		return "bench"
	case record.StageCaps:
		return "caps"
	}
	return stageTitle(stage)
}

// changeSection is what each stage and each adjuster move did to the backlash.
func changeSection(d Data) section {
	var s section
	var titles []string
	if len(d.Changes) > 0 {
		titles = append(titles, "Stage changes")
		s.Rows = append(s.Rows, row{{Share: 1, Picture: stagePicture(d.Backlash)}, {Share: 2, Table: changeTable(d.Changes)}})
	}
	if len(d.Moves) > 0 {
		titles = append(titles, "Adjuster history")
		s.Rows = append(s.Rows, row{{Share: 1, Table: moveTable(d)}})
	}
	s.Title = strings.Join(titles, ", ")
	return s
}

func changeTable(cs []StageChange) *table {
	t := &table{
		Caption: "Change of the mean backlash; it counts only beyond its expanded uncertainty U.",
		Columns: []column{{"Between", false}, {"Change, mm", true}, {"± U", true}, {"Result", false}},
	}
	for _, c := range cs {
		t.Rows = append(t.Rows, []entry{
			plain(stageTitle(c.From) + " – " + stageTitle(c.To)), plain(c.Format.finer().signed(c.Change.Mean)),
			plain(c.Format.finer().uncertainty(c.U)), plain(c.Sentence),
		})
	}
	return t
}

// moveTable is the adjuster history.
func moveTable(d Data) *table {
	t := &table{
		Caption: "Adjuster moves: + is the crown wheel towards the pinion; mean backlash in mm before, as expected, and after.",
		Columns: []column{{"No.", false}, {"Stage", false}, {"Time (UTC)", false}, {"Move", true}, {"In all", true}, {"Before", true}, {"Expected", true}, {"After", true}, {"Note", false}},
	}
	for i, m := range d.Moves {
		f := Format{Unit: m.Unit, Decimals: 2}
		if m.Unit != "mm" {
			f.Decimals = 0
		}
		b := millimetres(d.Sheet).finer()
		t.Rows = append(t.Rows, []entry{
			plain(strconv.Itoa(i + 1)), plain(stageTitle(m.Stage)), plain(minute(m.Time)),
			plain(f.signed(m.Value) + spaced(moveUnit(m))), plain(f.signed(m.Net)), plain(b.figure(m.Before)), plain(expectedText(b, m)), plain(b.figure(m.After)), plain(m.NoteText()),
		})
	}
	return t
}

// expectedText is what a move was expected to lead to.
func expectedText(f Format, m Move) string {
	if math.IsNaN(m.ExpectedU) {
		return f.figure(m.Expected)
	}
	return f.figure(m.Expected) + " ± " + f.uncertainty(m.ExpectedU)
}

// moveUnit is the unit of a move, in the plural where it has one.
func moveUnit(m Move) string {
	if m.Unit == "notch" && math.Abs(m.Value) != 1 {
		return "notches"
	}
	return m.Unit
}
