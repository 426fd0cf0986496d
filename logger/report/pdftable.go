package report

import (
	"math"
	"slices"
	"strings"
)

const (
	pdfPad     = 1.4 // left and right of a cell
	pdfMark    = 3.0 // width of a verdict's mark
	pdfCaption = 0.8 // below a caption
)

// A pdfTable is a table with its text broken into the width of its columns.
type pdfTable struct {
	*table
	width   float64
	caption []string
	columns []float64
	heads   [][]string
	cells   [][][]string
	heights []float64
	head    float64
}

// measure finds column widths and breaks the text to them: figures keep what
// they need, words share what is left.
func (l *pdfLayout) measure(t *table, width float64) pdfTable {
	m := pdfTable{table: t, width: width, columns: l.columnWidths(t, width)}
	l.font(pdfSmall, false, colourSoft)
	m.caption = l.wrap(t.Caption, width)
	most := 1
	for k, c := range t.Columns {
		l.font(6.6, true, colourSoft)
		m.heads = append(m.heads, l.wrap(c.Head, m.columns[k]-2*pdfPad))
		most = max(most, len(m.heads[k]))
	}
	m.head = float64(most)*lineHeight(6.6) + 1.2
	for _, r := range t.Rows {
		var cells [][]string
		most := 1
		for k, e := range r {
			l.cellFont(e, k)
			cells = append(cells, l.wrap(e.Text, m.columns[k]-2*pdfPad-markWidth(e)))
			most = max(most, len(cells[k]))
		}
		m.cells = append(m.cells, cells)
		m.heights = append(m.heights, float64(most)*lineHeight(pdfText)+1.0)
	}
	return m
}

// columnWidths gives each column its longest word at least and then, as far as
// the width goes, its longest text.
func (l *pdfLayout) columnWidths(t *table, width float64) []float64 {
	least, natural := make([]float64, len(t.Columns)), make([]float64, len(t.Columns))
	for k, c := range t.Columns {
		l.font(6.6, true, colourSoft)
		least[k] = l.longestWord(c.Head)
		natural[k] = math.Min(l.p.GetStringWidth(c.Head), 26)
		for _, r := range t.Rows {
			l.cellFont(r[k], k)
			full := l.p.GetStringWidth(bmp(r[k].Text)) + markWidth(r[k])
			natural[k] = math.Max(natural[k], full)
			if c.Number || r[k].Judged || k == 0 && len([]rune(r[k].Text)) <= shortName {
				least[k] = math.Max(least[k], full)
			} else {
				least[k] = math.Max(least[k], math.Min(l.longestWord(r[k].Text), 30)+markWidth(r[k]))
			}
		}
		least[k] += 2*pdfPad + 0.1
		natural[k] = math.Max(least[k], natural[k]+2*pdfPad+0.1)
	}
	return shareOut(least, natural, width)
}

// shareOut gives every column its least and divides the rest by what each is
// short of its natural width, or evenly once all have that.
func shareOut(least, natural []float64, width float64) []float64 {
	widths := slices.Clone(least)
	rest, short := width, 0.0
	for k := range widths {
		rest -= least[k]
		short += natural[k] - least[k]
	}
	if rest <= 0 {
		for k := range widths {
			widths[k] *= width / (width - rest)
		}
		return widths
	}
	given := math.Min(rest, short)
	for k := range widths {
		if short > 0 {
			widths[k] += given * (natural[k] - least[k]) / short
		}
		widths[k] += (rest - given) / float64(len(widths))
	}
	return widths
}

func (l *pdfLayout) longestWord(s string) float64 {
	w := 0.0
	for _, word := range strings.Fields(bmp(s)) {
		w = math.Max(w, l.p.GetStringWidth(word))
	}
	return w
}

func markWidth(e entry) float64 {
	if e.Judged {
		return pdfMark
	}
	return 0
}

func (l *pdfLayout) cellFont(e entry, k int) {
	l.font(pdfText, e.Strong || k == 0, colourInk)
}

func (l *pdfLayout) tableHeight(t *table, width float64) float64 {
	m := l.measure(t, width)
	h := float64(len(m.caption))*lineHeight(pdfSmall) + pdfCaption + m.head
	for _, v := range m.heights {
		h += v
	}
	return h
}

// tableHead writes caption and headings and returns where the rows begin.
func (l *pdfLayout) tableHead(m pdfTable, x, y float64) float64 {
	l.font(pdfSmall, false, colourSoft)
	y = l.lines(x, y, m.caption, pdfSmall) + pdfCaption
	at := x
	for k, lines := range m.heads {
		l.font(6.6, true, colourSoft)
		top := y + m.head - 1.0 - float64(len(lines))*lineHeight(6.6)
		for _, t := range lines {
			left := at + pdfPad
			if m.table.Columns[k].Number {
				left = at + m.columns[k] - pdfPad - l.p.GetStringWidth(t)
			}
			l.lines(left, top, []string{t}, 6.6)
			top += lineHeight(6.6)
		}
		at += m.columns[k]
	}
	y += m.head
	l.stroke(colourInk, 0.25)
	l.p.Line(x, y, x+m.width, y)
	return y
}

// tableRow writes row k and returns where the next begins.
func (l *pdfLayout) tableRow(m pdfTable, k int, x, y float64) float64 {
	at := x
	for c, lines := range m.cells[k] {
		e := m.Rows[k][c]
		l.cellFont(e, c)
		top := y + 0.45
		for i, t := range lines {
			left := at + pdfPad + markWidth(e)
			if m.table.Columns[c].Number {
				left = at + m.columns[c] - pdfPad - l.p.GetStringWidth(t)
			}
			l.lines(left, top, []string{t}, pdfText)
			if i == 0 && e.Judged {
				l.draw(verdictIcon(e.Verdict), left-pdfMark, top+0.45, 2.5)
				l.cellFont(e, c)
			}
			top += lineHeight(pdfText)
		}
		at += m.columns[c]
	}
	y += m.heights[k]
	l.stroke(colourHair, 0.2)
	l.p.Line(x, y, x+m.width, y)
	return y
}
