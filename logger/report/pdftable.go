package report

import (
	"math"
	"strings"
)

const (
	pdfPad     = 1.4 // left and right of a cell
	pdfMark    = 3.0 // width of a verdict's mark
	pdfCaption = 0.8 // below a caption
	pdfHead    = 6.6 // font size of headings, in points
)

// table lays out a table and returns where it ends.
func (l *pdfLayout) table(t *table, x, y, width float64) float64 {
	heads := Each(t.Columns, func(c column) entry { return plain(c.Head) })
	widths := l.columnWidths(t, heads, width)
	head := func(y float64) float64 {
		if t.Caption != "" {
			l.font(pdfSmall, false, colourSoft)
			y = l.lines(x, y, l.wrap(t.Caption, width), pdfSmall) + pdfCaption
		}
		return l.tableRow(t, widths, heads, true, x, y)
	}
	y = head(y)
	for _, r := range t.Rows {
		height := l.dryly(func() float64 { return l.tableRow(t, widths, r, false, 0, 0) })
		if at := l.onPage(y, height); at != y {
			y = head(at)
		}
		y = l.tableRow(t, widths, r, false, x, y)
	}
	return y
}

// columnWidths gives each column its longest word at least - figures are not
// broken - and shares what is left by what each is short of its longest text.
func (l *pdfLayout) columnWidths(t *table, heads []entry, width float64) []float64 {
	widths, longest := make([]float64, len(heads)), make([]float64, len(heads))
	for i, r := range append([][]entry{heads}, t.Rows...) {
		for k, e := range r {
			l.cellFont(e, k, i == 0)
			text := l.letters(e.Text)
			full, word := l.p.GetStringWidth(text)+markWidth(e), 0.0
			for part := range strings.FieldsSeq(text) {
				word = math.Max(word, l.p.GetStringWidth(part))
			}
			switch {
			case i == 0:
				full = math.Min(full, 26)
			case t.Columns[k].Number || e.Judged:
				word = full
			default:
				word = math.Min(word, 30) + markWidth(e)
			}
			widths[k], longest[k] = math.Max(widths[k], word+2*pdfPad+0.1), math.Max(longest[k], full+2*pdfPad+0.1)
		}
	}
	least, missing := 0.0, 0.0
	for k, w := range widths {
		longest[k] = math.Max(longest[k]-w, 0) + 0.5
		least, missing = least+w, missing+longest[k]
	}
	for k := range widths {
		if least > width {
			widths[k] *= width / least
		} else {
			widths[k] += (width - least) * longest[k] / missing
		}
	}
	return widths
}

func markWidth(e entry) float64 {
	if e.Judged {
		return pdfMark
	}
	return 0
}

// cellFont sets the font of an entry in column k and returns its size.
func (l *pdfLayout) cellFont(e entry, k int, heading bool) float64 {
	if heading {
		l.font(pdfHead, true, colourSoft)
		return pdfHead
	}
	l.font(pdfText, e.Strong || k == 0, colourInk)
	return pdfText
}

// tableRow writes a row, headings at the foot of it, and returns where the next
// begins.
func (l *pdfLayout) tableRow(t *table, widths []float64, r []entry, heading bool, x, y float64) float64 {
	cells, most, size := make([][]string, len(r)), 0, 0.0
	for k, e := range r {
		size = l.cellFont(e, k, heading)
		cells[k] = l.wrap(e.Text, widths[k]-2*pdfPad-markWidth(e))
		most = max(most, len(cells[k]))
	}
	top, below, colour, weight := y+0.45, 0.55, colourHair, 0.2
	if heading {
		top, below, colour, weight = y+0.2, 1.0, colourInk, 0.25
	}
	at := x
	for k, e := range r {
		l.cellFont(e, k, heading)
		line := top
		if heading {
			line += float64(most-len(cells[k])) * lineHeight(size)
		}
		for i, text := range cells[k] {
			left := at + pdfPad + markWidth(e)
			if t.Columns[k].Number {
				left = at + widths[k] - pdfPad - l.p.GetStringWidth(text)
			}
			next := l.lines(left, line, []string{text}, size)
			if i == 0 && e.Judged {
				l.draw(verdictIcon(e.Verdict), left-pdfMark, line+0.45, 2.5)
			}
			line = next
		}
		at += widths[k]
	}
	y = top + float64(most)*lineHeight(size) + below
	l.rule(colour, weight, x, y, at-x)
	return y
}
