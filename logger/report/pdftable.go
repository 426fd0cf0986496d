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
	heads := make([]entry, len(t.Columns))
	for k, c := range t.Columns {
		heads[k] = plain(c.Head)
	}
	widths := l.columnWidths(t, heads, width)
	head := func(y float64) float64 {
		l.font(pdfSmall, false, colourSoft)
		y = l.lines(x, y, l.wrap(t.Caption, width), pdfSmall) + pdfCaption
		return l.tableRow(t, widths, heads, true, x, y)
	}
	y = head(y)
	for _, r := range t.Rows {
		if at := l.onPage(y, l.entriesHeight(t, widths, r)); at != y {
			y = head(at)
		}
		y = l.tableRow(t, widths, r, false, x, y)
	}
	return y
}

func (l *pdfLayout) entriesHeight(t *table, widths []float64, r []entry) float64 {
	if l.dry {
		return 0 // nothing asks
	}
	l.dry = true
	defer func() { l.dry = false }()
	return l.tableRow(t, widths, r, false, 0, 0)
}

// columnWidths gives each column its longest word at least - figures are not
// broken - and shares what is left by what each is short of its longest text.
func (l *pdfLayout) columnWidths(t *table, heads []entry, width float64) []float64 {
	widths, short := make([]float64, len(heads)), make([]float64, len(heads))
	least, missing := 0.0, 0.0
	for k, c := range t.Columns {
		longest := 0.0
		for i := -1; i < len(t.Rows); i++ {
			e := heads[k]
			if i >= 0 {
				e = t.Rows[i][k]
			}
			l.cellFont(e, k, i < 0)
			full := l.p.GetStringWidth(l.letters(e.Text)) + markWidth(e)
			word := 0.0
			for part := range strings.FieldsSeq(l.letters(e.Text)) {
				word = math.Max(word, l.p.GetStringWidth(part))
			}
			switch {
			case i < 0:
				full = math.Min(full, 26)
			case c.Number || e.Judged || k == 0 && len([]rune(e.Text)) <= shortName:
				word = full
			default:
				word = math.Min(word, 30) + markWidth(e)
			}
			widths[k], longest = math.Max(widths[k], word+2*pdfPad+0.1), math.Max(longest, full+2*pdfPad+0.1)
		}
		short[k] = math.Max(longest-widths[k], 0) + 0.5
		least, missing = least+widths[k], missing+short[k]
	}
	for k := range widths {
		if least > width {
			widths[k] *= width / least
		} else {
			widths[k] += (width - least) * short[k] / missing
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
