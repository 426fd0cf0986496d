package report

import (
	"cmp"
	"encoding/base64"
	"fmt"
	"html"
	"strings"

	"crownlog/analysis/units"
)

// svg is the drawing as a self-contained SVG element; id makes the ids of its
// title and description unique in a page. Without an id it is an icon beside a
// text that says the same, hidden from those who have the page read out. It holds
// no script, no style sheet and no reference to anything outside itself.
func (d *drawing) svg(id string) string {
	var b strings.Builder
	const named = ` aria-labelledby="%[1]s-t %[1]s-d"><title id="%[1]s-t">%[2]s</title><desc id="%[1]s-d">%[3]s</desc>`
	role, head := ` role="img"`, fmt.Sprintf(named, id, html.EscapeString(d.title), html.EscapeString(d.desc))
	if id == "" {
		role, head = "", ` class="icon" aria-hidden="true">`
	}
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg"%s viewBox="0 0 %s %s"%s`, role, coordinate(d.width), coordinate(d.height), head)
	for _, m := range d.marks {
		if m.photo != nil {
			fmt.Fprintf(&b, `<image width="%s" height="%s" href="data:image/jpeg;base64,%s"/>`,
				coordinate(m.size.x), coordinate(m.size.y), base64.StdEncoding.EncodeToString(m.photo))
			continue
		}
		if m.text.text != "" {
			writeSVGText(&b, m.ink, m.text)
			continue
		}
		writeSVGPath(&b, m.ink, m.path)
	}
	b.WriteString("</svg>")
	return b.String()
}

func writeSVGPath(b *strings.Builder, i ink, path []segment) {
	b.WriteString(`<path d="`)
	for _, s := range path {
		b.WriteByte(s.op)
		n := map[byte]int{'M': 1, 'L': 1, 'C': 3}[s.op]
		for k, p := range s.p[:n] {
			if k > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(coordinate(p.x) + " " + coordinate(p.y))
		}
	}
	b.WriteString(`" fill="` + cmp.Or(i.fill, "none") + `"`)
	if i.stroke != "" {
		b.WriteString(` stroke="` + i.stroke + `" stroke-width="` + coordinate(i.width) + `" stroke-linejoin="round"`)
		var dashes []string
		for _, v := range i.dash {
			dashes = append(dashes, coordinate(v))
		}
		b.WriteString(given(len(dashes) > 0, ` stroke-dasharray="`+strings.Join(dashes, " ")+`"`))
	}
	b.WriteString("/>")
}

func writeSVGText(b *strings.Builder, i ink, l label) {
	fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s" fill="%s"%s%s>%s</text>`,
		coordinate(l.at.x), coordinate(l.at.y), coordinate(l.size), i.fill,
		given(l.anchor != "", ` text-anchor="`+l.anchor+`"`), given(l.bold, ` font-weight="700"`), html.EscapeString(l.text))
}

// coordinate writes v with at most two decimals and no trailing zeros.
func coordinate(v float64) string { return units.Trimmed(v, 2) }
