package report

import (
	"math"
	"strconv"
	"strings"
)

// changeSection is what each stage and each adjuster move did to the backlash.
func changeSection(d Data) section {
	titles := dropEmpty(given(len(d.Changes) > 0, "Stage changes"), given(len(d.Moves) > 0, "Adjuster history"))
	s := section{Title: strings.Join(titles, ", ")}
	if len(d.Changes) > 0 {
		s.Rows = append(s.Rows, row{{Share: 1, Table: changeTable(d.Changes)}})
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
