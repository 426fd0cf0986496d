package report

import (
	"cmp"
	"encoding/base64"
	"fmt"
	"html"
	"strings"

	"crownlog/analysis/units"
)

// svg is the drawing as a self-contained SVG element, with what it is and says for
// those who have the page read out. An icon stands beside a text that says the same
// and is hidden from them. It holds no script, no style sheet and no reference to
// anything outside itself.
func (d *drawing) svg() string {
	var b strings.Builder
	role := `role="img" aria-label="` + html.EscapeString(d.title+". "+d.desc) + `"`
	if d.icon {
		role = `class="icon" aria-hidden="true"`
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" %s>`, coordinate(d.width), coordinate(d.height), role)
	for _, m := range d.marks {
		switch at := coordinate; {
		case m.photo != nil:
			fmt.Fprintf(&b, `<image width="%s" height="%s" href="data:image/%s;base64,%s"/>`, at(d.width), at(d.height), m.kind, base64.StdEncoding.EncodeToString(m.photo))
		case m.text.text != "":
			l := m.text
			fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" fill="%s"%s%s>%s</text>`, at(l.at.x), at(l.at.y), at(l.size), m.ink.fill,
				given(l.anchor != "", ` text-anchor="`+l.anchor+`"`), given(m.ink.bold, ` font-weight="700"`), html.EscapeString(l.text))
		case m.radius > 0:
			fmt.Fprintf(&b, `<circle cx="%s" cy="%s" r="%s"%s/>`, at(m.points[0].x), at(m.points[0].y), at(m.radius), m.ink.svg())
		default:
			op := "M"
			b.WriteString(`<path d="`)
			for _, p := range m.points {
				b.WriteString(op + at(p.x) + " " + at(p.y))
				op = "L"
			}
			b.WriteString(given(m.closed, "Z") + `"` + m.ink.svg() + "/>")
		}
	}
	b.WriteString("</svg>")
	return b.String()
}

// svg is the ink as attributes of a shape.
func (i ink) svg() string {
	return ` fill="` + cmp.Or(i.fill, "none") + `"` +
		given(i.stroke != "", ` stroke="`+i.stroke+`" stroke-width="`+coordinate(i.width)+`" stroke-linejoin="round"`) +
		given(len(i.dash) > 0, ` stroke-dasharray="`+strings.Trim(fmt.Sprint(i.dash), "[]")+`"`)
}

// coordinate writes v with at most two decimals and no trailing zeros.
func coordinate(v float64) string { return units.Trimmed(v, 2) }
