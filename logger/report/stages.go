package report

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"crownlog/logger/record"
)

// changeSection is what each stage and each adjuster move did to the backlash.
func changeSection(d Data) section {
	titles := dropEmpty(given(len(d.Changes) > 0, "Stage changes"), given(len(d.Moves) > 0, "Adjuster history"))
	s := section{Title: strings.Join(titles, ", ")}
	for _, t := range []*table{changeTable(d.Changes), moveTable(d)} {
		if len(t.Rows) > 0 {
			s.Rows = append(s.Rows, row{{Share: 1, Table: t}})
		}
	}
	return s
}

func changeTable(cs []StageChange) *table {
	t := &table{
		Caption: "Change of the mean backlash; it counts only beyond its expanded uncertainty U.",
		Columns: []column{{"Between", false}, {"Change, mm", true}, {"± U", true}, {"Result", false}},
	}
	for _, c := range cs {
		f := c.Format
		t.Rows = append(t.Rows, []entry{
			plain(stageTitle(c.From) + " – " + stageTitle(c.To)), plain(f.signed(c.Change.Mean)), plain(f.uncertainty(c.U)), plain(c.Sentence),
		})
	}
	return t
}

// moveTable is the adjuster history.
func moveTable(d Data) *table {
	t := &table{
		Caption: "Adjuster moves: + is the crown wheel towards the pinion; mean backlash in mm before, as expected, and after.",
		Columns: []column{{"No.", true}, {"Stage", false}, {"Time (UTC)", false}, {"Move", true}, {"In all", true}, {"Before", true}, {"Expected", true}, {"After", true}, {"Note", false}},
	}
	b := millimetres(d.Sheet)
	for i, m := range d.Moves {
		f := Format{m.Unit, 0}
		if m.Unit == "mm" {
			f.Decimals = 2
		}
		unit := spaced(m.Unit) + given(m.Unit == "notch" && math.Abs(m.Value) != 1, "es")
		t.Rows = append(t.Rows, []entry{
			plain(strconv.Itoa(i + 1)), plain(stageTitle(m.Stage)), plain(minute(m.Time)), plain(f.signed(m.Value) + unit), plain(f.signed(m.Net)),
			plain(b.figure(m.Before)), plain(b.figure(m.Expected) + b.doubt(m.ExpectedU)), plain(b.figure(m.After)), plain(m.NoteText()),
		})
	}
	return t
}

// recordSection is what was skipped, notes, rejected readings and photos.
func recordSection(d Data) section {
	t := &table{
		Caption: "Readings not used stay on record.",
		Columns: []column{{"Time (UTC)", false}, {"Stage", false}, {"What", false}},
	}
	said := map[string]string{record.FeatureOverride: "SKIPPED: ", record.FeatureCheck: "Ticked: ", record.QualityRejected: "Not used: ", "repeated": "REPEATED: "}
	rows := slices.Concat(d.Remarks, d.Rejected)
	for _, r := range d.Repeats {
		rows = append(rows, Remark{r.Time, r.Stage, "repeated", record.Title(r.Feature) + ", " + r.Text})
	}
	for _, r := range rows {
		t.Rows = append(t.Rows, []entry{plain(minute(r.Time)), plain(stageTitle(r.Stage)), plain(said[r.Kind] + r.Text)})
	}
	if len(t.Rows) == 0 {
		return section{}
	}
	table := row{{Share: 1, Table: t, Lines: dropEmpty(d.attached)}}
	return section{Title: "Skipped, repeated, noted and set aside", Rows: append([]row{table}, thirds(d.photos)...)}
}
