package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
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
	low, high := s.widened(0.2, 0)
	c := newChart(chartWidth, chartHeight+20, low, high, "mm", "Backlash from stage to stage", strings.Join(words, "; ")+".")
	c.y = newFixedScale(low, high, c.bottom, c.top, 4)
	c.band(rounds[len(rounds)-1].Spec.Limits)
	c.grid()
	var means []point
	for i, r := range rounds {
		if x, _ := c.column(i, len(rounds)); !math.IsNaN(r.Round.Mean) {
			means = append(means, point{x, c.y.at(r.Round.Mean)})
		}
	}
	c.polyline(inkDashed, means, false)
	for i, r := range rounds {
		x, _ := c.column(i, len(rounds))
		c.stage(x, r)
	}
	return c.drawing
}

// stage draws the range of one round at x, with the mark of its mean.
func (c chart) stage(x float64, r Round) {
	tightest, loosest := r.Round.Tightest.Value, r.Round.Loosest.Value
	if low, high := c.y.at(tightest), c.y.at(loosest); !math.IsNaN(low) && !math.IsNaN(high) {
		c.rect(ink{fill: colourPaper, stroke: colourRule, width: 0.8}, x-5, high, 10, low-high)
		c.write(inkSoft, label{at: point{x, high - 4}, anchor: anchorMiddle, size: 9, text: r.Format.figure(loosest)})
		c.write(inkSoft, label{at: point{x, low + 11}, anchor: anchorMiddle, size: 9, text: r.Format.figure(tightest)})
	}
	if !math.IsNaN(r.Round.Mean) {
		c.verdictMark(r.Verdict, point{x, c.y.at(r.Round.Mean)}, 5.5)
	}
	c.under(x, shortStage(r.Stage), true)
}

// changeSection is what each stage and each adjuster move did to the backlash.
func changeSection(d Data) section {
	titles := dropEmpty(given(len(d.Changes) > 0, "Stage changes"), given(len(d.Moves) > 0, "Adjuster history"))
	s := section{Title: strings.Join(titles, ", ")}
	if len(d.Changes) > 0 {
		s.Rows = append(s.Rows, row{{Share: 1, Picture: stagePicture(d.Backlash)}, {Share: 2, Table: changeTable(d.Changes)}})
	}
	if len(d.Moves) > 0 {
		s.Rows = append(s.Rows, row{{Share: 1, Table: moveTable(d)}})
	}
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
	b := millimetres(d.Sheet).finer()
	for i, m := range d.Moves {
		f := Format{m.Unit, 0}
		if m.Unit == "mm" {
			f.Decimals = 2
		}
		unit := spaced(m.Unit) + given(m.Unit == "notch" && math.Abs(m.Value) != 1, "es")
		expected := b.figure(m.Expected) + b.doubt(m.ExpectedU)
		t.Rows = append(t.Rows, []entry{
			plain(strconv.Itoa(i + 1)), plain(stageTitle(m.Stage)), plain(minute(m.Time)), plain(f.signed(m.Value) + unit),
			plain(f.signed(m.Net)), plain(b.figure(m.Before)), plain(expected), plain(b.figure(m.After)), plain(m.NoteText()),
		})
	}
	return t
}
