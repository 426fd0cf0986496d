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

// pdfHead is the font size of headings, in points.
const pdfHead = 6.6

// A pdfTable is a table with its text broken into the width of its columns.
type pdfTable struct {
	*table
	width   float64
	caption []string
	columns []float64
	head    pdfRow
	body    []pdfRow
}

// A pdfRow is a row with the lines of each entry.
type pdfRow struct {
	entries []entry
	lines   [][]string
	most    int // lines of the tallest
	heading bool
}

func (r pdfRow) height() float64 {
	if r.heading {
		return float64(r.most)*lineHeight(pdfHead) + 1.2
	}
	return float64(r.most)*lineHeight(pdfText) + 1.0
}

// measure finds column widths and breaks the text to them: figures keep what
// they need, words share what is left.
func (l *pdfLayout) measure(t *table, width float64) pdfTable {
	m := pdfTable{table: t, width: width, columns: l.columnWidths(t, width)}
	l.font(pdfSmall, false, colourSoft)
	m.caption = l.wrap(t.Caption, width)
	var heads []entry
	for _, c := range t.Columns {
		heads = append(heads, plain(c.Head))
	}
	m.head = l.broken(pdfRow{entries: heads, heading: true}, m.columns)
	for _, r := range t.Rows {
		m.body = append(m.body, l.broken(pdfRow{entries: r}, m.columns))
	}
	return m
}

// broken breaks the text of a row to the widths of the columns.
func (l *pdfLayout) broken(r pdfRow, widths []float64) pdfRow {
	for k, e := range r.entries {
		l.cellFont(r, k)
		r.lines = append(r.lines, l.wrap(e.Text, widths[k]-2*pdfPad-markWidth(e)))
		r.most = max(r.most, len(r.lines[k]))
	}
	return r
}

// columnWidths gives each column its longest word at least and then, as far as
// the width goes, its longest text.
func (l *pdfLayout) columnWidths(t *table, width float64) []float64 {
	least, natural := make([]float64, len(t.Columns)), make([]float64, len(t.Columns))
	for k, c := range t.Columns {
		l.font(pdfHead, true, colourSoft)
		least[k] = l.longestWord(c.Head)
		natural[k] = math.Min(l.p.GetStringWidth(c.Head), 26)
		for _, r := range t.Rows {
			l.cellFont(pdfRow{entries: r}, k)
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

// cellFont sets the font of entry k of a row and returns its size.
func (l *pdfLayout) cellFont(r pdfRow, k int) float64 {
	if r.heading {
		l.font(pdfHead, true, colourSoft)
		return pdfHead
	}
	l.font(pdfText, r.entries[k].Strong || k == 0, colourInk)
	return pdfText
}

// tableHead writes caption and headings and returns where the rows begin.
func (l *pdfLayout) tableHead(m pdfTable, x, y float64) float64 {
	l.font(pdfSmall, false, colourSoft)
	return l.tableRow(m, m.head, x, l.lines(x, y, m.caption, pdfSmall)+pdfCaption)
}

// tableRow writes a row, its headings at the foot of it, and returns where the
// next begins.
func (l *pdfLayout) tableRow(m pdfTable, r pdfRow, x, y float64) float64 {
	at := x
	for k, lines := range r.lines {
		e, size := r.entries[k], l.cellFont(r, k)
		top := y + 0.45
		if r.heading {
			top = y + 0.2 + float64(r.most-len(lines))*lineHeight(size)
		}
		for i, t := range lines {
			left := at + pdfPad + markWidth(e)
			if m.Columns[k].Number {
				left = at + m.columns[k] - pdfPad - l.p.GetStringWidth(t)
			}
			next := l.lines(left, top, []string{t}, size)
			if i == 0 && e.Judged {
				l.draw(verdictIcon(e.Verdict), left-pdfMark, top+0.45, 2.5)
			}
			top = next
		}
		at += m.columns[k]
	}
	y += r.height()
	if r.heading {
		l.rule(colourInk, 0.25, x, y, m.width)
	} else {
		l.rule(colourHair, 0.2, x, y, m.width)
	}
	return y
}
