package report

import (
	"cmp"
	_ "embed"
	"fmt"
	"html"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// The PDF page: A4, lengths in mm.
const (
	pdfWidth   = 210.0
	pdfHeight  = 297.0
	pdfMargin  = 12.0
	pdfTop     = 10.0
	pdfFoot    = 5.7  // of the last line, which a printer still reaches
	pdfFooting = 2.8  // line height at the foot
	pdfGap     = 4.0  // between panels
	pdfKept    = 60.0 // of a table or lines that are kept on one page
	pdfHeading = 6.4  // of a section's heading
	pdfBelow   = 0.8  // below a row
	pdfText    = 7.6  // pt
	pdfSmall   = 6.8  // pt
	pdfLeading = 1.24 // line height over font size
)

//go:embed report.xmp
var pdfXMP string

// undrawnWords stand on a PDF in which a letter could not be drawn.
const undrawnWords = "A question mark may stand for a letter that this PDF has no font for: report.html shows it"

// PDF writes d as vector pages with the content of the HTML report. Only the
// letters used are embedded, from the Go fonts, which hold Latin, Greek and
// Cyrillic; where another is asked for, every page says so. Its metadata are there
// as XMP too. The same data gives the same bytes.
func PDF(w io.Writer, d Data) error {
	l := newPDFLayout(d, "")
	if l.page(compose(d)); l.undrawn {
		l = newPDFLayout(d, undrawnWords)
		l.page(compose(d))
	}
	return l.p.Output(w)
}

// A pdfLayout fills pages from top to bottom.
type pdfLayout struct {
	p *fpdf.Fpdf
	y float64 // where the next thing goes

	bottom float64 // height of what stands at the foot of every page
	dry    bool    // only find out how high a panel is
	flows  bool    // what is laid out now may run over pages

	undrawn bool // a letter was not in the fonts
}

func newPDFLayout(d Data, note string) *pdfLayout {
	p := fpdf.New("P", "mm", "A4", "")
	p.SetCatalogSort(true)
	p.SetCreationDate(d.Made.UTC())
	p.SetModificationDate(d.Made.UTC())
	title := strings.Join(dropEmpty(d.Sheet.Vehicle.Label, d.Sheet.Vehicle.Job, reportTitle), ", ")
	p.SetTitle(title, true)
	p.SetCreator("crownlog", true)
	p.SetXmpMetadata(fmt.Appendf(nil, pdfXMP, "\ufeff", html.EscapeString(title), html.EscapeString(strings.Join(dropEmpty(d.Record.Job, d.Record.Last), " ")),
		html.EscapeString(cmp.Or(d.Record.Program, "crownlog")), d.Made.UTC().Format(time.RFC3339)))
	p.SetLang("en")
	p.SetMargins(pdfMargin, pdfMargin, pdfMargin)
	p.SetCellMargin(0)
	p.SetAutoPageBreak(false, 0)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.AliasNbPages("{pages}")
	l := &pdfLayout{p: p}
	foot := strings.Join(dropEmpty(given(d.Sheet.Invented, inventedBanner), note, footer(d)), ". ")
	l.font(6, false, colourSoft)
	lines := l.wrap(foot, pdfWidth-2*pdfMargin-24)
	l.bottom = pdfFoot + pdfFooting*float64(len(lines)) + 0.2
	p.SetFooterFunc(func() { l.footer(lines) })
	l.newPage()
	return l
}

func (l *pdfLayout) newPage() {
	l.p.AddPage()
	l.y = pdfTop
}

// room starts a new page when height does not fit on this one.
func (l *pdfLayout) room(height float64) {
	if l.y+height > pdfHeight-l.bottom && l.y > pdfTop {
		l.newPage()
	}
}

func (l *pdfLayout) footer(lines []string) {
	l.font(6, false, colourSoft)
	for i, line := range lines {
		l.p.Text(pdfMargin, pdfHeight-pdfFoot-pdfFooting*float64(len(lines)-1-i), line)
	}
	number := fmt.Sprintf("page %d of {pages}", l.p.PageNo())
	l.p.Text(pdfWidth-pdfMargin-l.p.GetStringWidth("page 9 of 9"), pdfHeight-8.5, number)
}

func (l *pdfLayout) page(pg page) {
	const width = pdfWidth - 2*pdfMargin
	if pg.Banner != "" {
		l.stroke(colourClose, 0.25)
		l.p.Rect(pdfMargin, l.y, width, 6.4, "D")
		l.font(8.5, true, colourClose)
		l.p.Text(pdfMargin+(width-l.p.GetStringWidth(pg.Banner))/2, l.y+4.3, pg.Banner)
		l.y += 9
	}
	l.font(15, true, colourInk)
	l.p.Text(pdfMargin, l.y+5.2, pg.Title)
	l.y += 8.5
	for part := range slices.Chunk(pg.Block, 4) { // as cells that name themselves
		t := &table{Rows: [][]entry{nil}}
		for _, f := range part {
			t.Columns, t.Rows[0] = append(t.Columns, column{Head: f.Name}), append(t.Rows[0], plain(f.Text))
		}
		l.y = l.table(t, pdfMargin, l.y, width)
	}
	l.verdict(pg, width)
	for i, s := range pg.Sections {
		if i == len(pg.Sections)-1 { // what is signed stays above the signatures
			height := pdfHeading
			for _, r := range s.Rows {
				height += l.rowHeight(r, width) + pdfBelow
			}
			l.room(height)
		}
		l.section(s, width)
	}
}

// verdict is the headline with its mark and a bar in its colour.
func (l *pdfLayout) verdict(pg page, width float64) {
	const size, left, right = 12.5, pdfMargin + 18, 6
	l.y += 2.5
	l.font(pdfText, false, colourInk)
	var under []string
	for _, t := range pg.Under {
		under = append(under, l.wrap(t, width-left-right+pdfMargin)...)
	}
	l.font(size, true, colourInk)
	head := l.wrap(pg.Headline, width-left-right+pdfMargin)
	y := l.lines(left, l.y+1.8, head, size)
	l.font(pdfText, false, colourInk)
	height := math.Max(l.lines(left, y, under, pdfText)+2.7-l.y, 12)
	l.fill(verdictColours[pg.Verdict])
	l.p.Rect(pdfMargin, l.y, 2.4, height, "F")
	l.stroke(colourInk, 0.3)
	l.p.Rect(pdfMargin, l.y, width, height, "D")
	l.draw(verdictIcon(pg.Verdict), pdfMargin+5.5, l.y+height/2-4.5, 9)
	l.y += height + 1
}

// section keeps each row on a page; one that is a table or lines alone, or is higher
// than a page, runs on over the next.
func (l *pdfLayout) section(s section, width float64) {
	for i, r := range s.Rows {
		height := l.rowHeight(r, width)
		l.flows = height > pdfHeight-pdfMargin-l.bottom || len(r) == 1 && r[0].Picture == nil
		if l.flows {
			height = math.Min(height, pdfKept)
		}
		if i == 0 {
			l.room(pdfHeading + height)
			l.font(7.4, true, colourInk)
			l.p.Text(pdfMargin, l.y+4, strings.ToUpper(s.Title))
			l.rule(colourInk, 0.3, pdfMargin, l.y+5.4, width)
			l.y += pdfHeading
		}
		l.room(height)
		x, y := pdfMargin, l.y+height
		for _, p := range r {
			if l.flows {
				l.y = l.panel(p, pdfMargin, l.y, width)
				y = l.y
				continue
			}
			w := panelWidth(r, p, width)
			l.panel(p, x, l.y, w)
			x += w + pdfGap
		}
		l.y = y + pdfBelow
	}
}

// panelWidth is p's part of a row.
func panelWidth(r row, p panel, width float64) float64 {
	shares := 0.0
	for _, q := range r {
		shares += q.Share
	}
	return (width - pdfGap*float64(len(r)-1)) * p.Share / shares
}

// rowHeight is how much of the page a row takes.
func (l *pdfLayout) rowHeight(r row, width float64) (height float64) {
	return l.dryly(func() float64 {
		for _, p := range r {
			height = math.Max(height, l.panel(p, 0, 0, panelWidth(r, p, width)))
		}
		return height
	})
}

// dryly is what layOut returns without anything being drawn.
func (l *pdfLayout) dryly(layOut func() float64) float64 {
	dry := l.dry
	l.dry = true
	defer func() { l.dry = dry }()
	return layOut()
}

// panel lays a panel out downwards from y and returns where it ends.
func (l *pdfLayout) panel(p panel, x, y, width float64) float64 {
	if p.Picture != nil {
		// At most about as large as drawn for 96 dots an inch, so that a few marks do
		// not fill a page.
		w := math.Min(width, p.Picture.width*25.4/96*0.9)
		l.draw(p.Picture, x+(width-w)/2, y, w)
		y += p.Picture.height / p.Picture.width * w
	}
	if p.Table != nil {
		y = l.table(p.Table, x, y, width)
	}
	if p.Sign != "" {
		l.rule(colourInk, 0.3, x, y+6, width)
		l.font(pdfSmall, false, colourSoft)
		y = l.lines(x, y+6.6, []string{p.Sign}, pdfSmall)
	}
	if len(p.Lines) > 0 && (p.Picture != nil || p.Table != nil) {
		y += 1.2 // keeps lines off what is above them
	}
	for _, t := range p.Lines {
		l.font(pdfText, false, colourInk)
		lines := l.wrap(t, width-3)
		y = l.onPage(y, float64(len(lines))*lineHeight(pdfText))
		if !l.dry {
			l.fill(colourSoft)
			l.p.Circle(x+1, y+lineHeight(pdfText)/2, 0.45, "F")
		}
		y = l.lines(x+3, y, lines, pdfText)
	}
	return y
}

// onPage is y where height fits below it, or the top of a new page: of what may
// run over pages.
func (l *pdfLayout) onPage(y, height float64) float64 {
	if !l.flows || l.dry || y+height <= pdfHeight-l.bottom {
		return y
	}
	l.newPage()
	return l.y
}
