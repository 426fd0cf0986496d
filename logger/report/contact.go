package report

import (
	"cmp"
	"strings"

	"crownlog/analysis/setup"
	"crownlog/logger/words"
)

// contactWords says where the contact lies.
func contactWords(c *setup.Contact) string {
	if c == nil {
		return missing
	}
	along, up := c.Zones()
	return [...]string{"towards the toe", "in the middle of the length", "towards the heel"}[along+1] + ", " +
		[...]string{"towards the root", "halfway up", "towards the face"}[up+1]
}

// contactSection says where the contact lies on both flanks and draws the air tests.
func contactSection(d Data) section {
	t := &table{
		Caption: "Where the contact lies on the tooth, as entered.",
		Columns: []column{{"Stage", false}, {"Drive flank", false}, {"Coast flank", false}, {"What it asks for", false}},
	}
	for _, p := range d.Patterns {
		advice := cmp.Or(words.Contact(p.Advice), missing)
		t.Rows = append(t.Rows, []entry{plain(stageTitle(p.Stage)), plain(contactWords(p.Flanks[0])), plain(contactWords(p.Flanks[1])), plain(advice)})
	}
	s := section{Rows: leakRows(d)}
	titles := dropEmpty(given(len(t.Rows) > 0, "Contact pattern"), given(len(s.Rows) > 0, "Air test"))
	s.Title = strings.Join(titles, ", ")
	if len(t.Rows) > 0 {
		s.Rows = append([]row{{{Share: 1, Table: t}}}, s.Rows...)
	}
	return s
}
