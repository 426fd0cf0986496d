package report

import (
	"slices"
	"strings"

	"crownlog/analysis/gum"
)

// A page is the report as headings, pictures, tables and lines. HTML and PDF
// lay out the same page, so neither shows more than the other.
type page struct {
	Banner   string // invented data, "" for none
	Title    string
	Block    []field // the title block
	Verdict  gum.Verdict
	Headline string
	Under    []string // what stands below the headline
	Sections []section
	Foot     string
}

// A field is one cell of the title block.
type field struct{ Name, Text string }

// A section is a heading over rows of panels.
type section struct {
	Title string
	Rows  []row
}

// A row holds panels side by side; their shares divide its width.
type row []panel

// A panel is one picture, one table, some lines, or a line to sign on.
type panel struct {
	Share   float64
	Picture *drawing
	Table   *table
	Lines   []string
	Sign    string // who signs there
}

// A table has a caption and columns; the first column names the row.
type table struct {
	Caption string
	Columns []column
	Rows    [][]entry
}

// A column is a heading; numbers stand to the right.
type column struct {
	Head   string
	Number bool
}

// An entry is one cell of a table; with judged set, the verdict's mark stands
// before the text.
type entry struct {
	Text    string
	Verdict gum.Verdict
	Judged  bool
	Strong  bool
}

func plain(text string) entry { return entry{Text: text} }

func judged(v gum.Verdict, text string) entry { return entry{Text: text, Verdict: v, Judged: true} }

// thirds puts panels three to a row, however few are in the last.
func thirds(panels row) []row {
	for len(panels)%3 != 0 {
		panels = append(panels, panel{Share: 1})
	}
	return slices.Collect(slices.Chunk(panels, 3))
}

// columns puts lines into n columns of about as many letters.
func columns(n int, lines []string) []row {
	r, all, before := make(row, n), len(strings.Join(lines, "")), 0
	for _, line := range lines {
		k := min(n*before/all, n-1)
		r[k].Share, r[k].Lines = 1, append(r[k].Lines, line)
		before += len(line)
	}
	return []row{r}
}
