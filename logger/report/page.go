package report

import (
	"slices"

	"crownlog/analysis/gum"
)

// A page is the report as headings, pictures, tables and lines. HTML and PDF
// lay out the same page, so neither shows more than the other.
type page struct {
	banner   string // invented data, "" for none
	title    string
	block    []field // the title block
	verdict  gum.Verdict
	headline string
	under    []string // what stands below the headline
	sections []section
	signs    []string // the labels of the signature lines
	foot     string
}

// A field is one cell of the title block.
type field struct{ Name, Text string }

// A section is a heading over rows of panels.
type section struct {
	title string
	rows  []row
}

// A row holds panels side by side; their shares divide its width.
type row []panel

// A panel is one picture, one table or some lines.
type panel struct {
	share   float64
	picture *drawing
	table   *table
	lines   []string
}

// A table has a caption and columns; the first column names the row.
type table struct {
	caption string
	columns []column
	rows    [][]entry
}

// A column is a heading; numbers stand to the right.
type column struct {
	head   string
	number bool
}

// An entry is one cell of a table; with judged set, the verdict's mark stands
// before the text.
type entry struct {
	text    string
	verdict gum.Verdict
	judged  bool
	strong  bool
}

func plain(text string) entry { return entry{text: text} }

func judged(v gum.Verdict, text string) entry {
	return entry{text: text, verdict: v, judged: true}
}

// transposed swaps rows and columns; the first column becomes the heading.
func (t *table) transposed() *table {
	n := &table{caption: t.caption, columns: []column{{}}}
	for _, r := range t.rows {
		n.columns = append(n.columns, column{head: r[0].text, number: true})
	}
	for k, c := range t.columns {
		if k == 0 {
			n.columns[0].head = c.head
			continue
		}
		line := []entry{{text: c.head, strong: true}}
		for _, r := range t.rows {
			line = append(line, r[k])
		}
		n.rows = append(n.rows, line)
	}
	return n
}

// sideBySide cuts a long table into n of about equal length.
func (t *table) sideBySide(n int) row {
	var r row
	rows := (len(t.rows) + n - 1) / n
	for part := range slices.Chunk(t.rows, rows) {
		r = append(r, panel{share: 1, table: &table{caption: "continued", columns: t.columns, rows: part}})
	}
	r[0].table.caption = t.caption
	return r
}

// thirds puts panels three to a row; lines take the first free place.
func thirds(panels row, lines []string) []row {
	if len(lines) > 0 && len(panels)%3 != 0 {
		panels = append(panels, panel{share: 1, lines: lines})
	}
	for len(panels)%3 != 0 {
		panels = append(panels, panel{share: 1})
	}
	return slices.Collect(slices.Chunk(panels, 3))
}

func dropEmpty(lines []string) []string {
	var kept []string
	for _, l := range lines {
		if l != "" {
			kept = append(kept, l)
		}
	}
	return kept
}
