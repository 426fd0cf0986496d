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
		if m.photo != nil {
			as := fpdf.ImageOptions{ImageType: "JPG"}
			l.p.RegisterImageOptionsReader(d.title, as, bytes.NewReader(m.photo))
			l.p.ImageOptions(d.title, x, y, k*m.size.x, k*m.size.y, false, as, 0, "")
			continue
		}
		if m.text.text != "" {
			l.drawText(m.ink, m.text, k, at)
			continue
		}
		l.drawPath(m, k, at)
	}
}

func (l *pdfLayout) drawPath(m mark, k float64, at func(point) (float64, float64)) {
	how := ""
	if m.ink.fill != "" {
		l.fill(m.ink.fill)
		how = "F"
	}
	if m.ink.stroke != "" {
		l.stroke(m.ink.stroke, k*m.ink.width)
		how += "D"
	}
	dash := make([]float64, len(m.ink.dash))
	for i, v := range m.ink.dash {
		dash[i] = k * v
	}
	l.p.SetDashPattern(dash, 0)
	l.p.SetLineJoinStyle("round")
	for _, s := range m.path {
		x, y := at(s.p[0])
		switch s.op {
		case 'M':
			l.p.MoveTo(x, y)
		case 'L':
			l.p.LineTo(x, y)
		case 'C':
			x1, y1 := at(s.p[1])
			x2, y2 := at(s.p[2])
			l.p.CurveBezierCubicTo(x, y, x1, y1, x2, y2)
		case 'Z':
			l.p.ClosePath()
		}
	}
	l.p.DrawPath(how)
	l.p.SetDashPattern(nil, 0)
}

func (l *pdfLayout) drawText(i ink, t label, k float64, at func(point) (float64, float64)) {
	l.font(t.size*k*72/25.4, t.bold, i.fill)
	text := bmp(t.text)
	x, y := at(t.at)
	switch t.anchor {
	case anchorMiddle:
		x -= l.p.GetStringWidth(text) / 2
	case anchorEnd:
		x -= l.p.GetStringWidth(text)
	}
	l.p.Text(x, y, text)
}
