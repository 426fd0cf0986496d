package report

import (
	"bytes"

	"codeberg.org/go-pdf/fpdf"
)

// draw puts a drawing on the page, width mm wide, its top left corner at x, y.
func (l *pdfLayout) draw(d *drawing, x, y, width float64) {
	if l.dry {
		return
	}
	k := width / d.width
	at := func(p point) (float64, float64) { return x + k*p.x, y + k*p.y }
	for _, m := range d.marks {
		switch {
		case m.photo != nil:
			as := fpdf.ImageOptions{ImageType: m.kind}
			l.p.RegisterImageOptionsReader(d.title, as, bytes.NewReader(m.photo))
			l.p.ImageOptions(d.title, x, y, width, k*d.height, false, as, 0, "")
		case m.text.text != "":
			l.font(m.text.size*k*72/25.4, m.ink.bold, m.ink.fill)
			text := l.letters(m.text.text)
			before := map[string]float64{anchorMiddle: 0.5, anchorEnd: 1}[m.text.anchor] * l.p.GetStringWidth(text)
			x, y := at(m.text.at)
			l.p.Text(x-before, y, text)
		default:
			how := given(m.ink.fill != "", "F") + given(m.ink.stroke != "", "D")
			l.fill(m.ink.fill)
			l.stroke(m.ink.stroke, k*m.ink.width)
			l.p.SetDashPattern(Each(m.ink.dash, func(v float64) float64 { return k * v }), 0)
			l.p.SetLineJoinStyle("round")
			x, y := at(m.points[0])
			if m.radius > 0 {
				l.p.Circle(x, y, k*m.radius, how)
			} else {
				l.p.MoveTo(x, y)
				for _, p := range m.points[1:] {
					l.p.LineTo(at(p))
				}
				if m.closed {
					l.p.ClosePath()
				}
				l.p.DrawPath(how)
			}
			l.p.SetDashPattern(nil, 0)
		}
	}
}
