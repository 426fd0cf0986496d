package report

import (
	"strconv"
	"strings"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// lines writes text downwards from y and returns where it ends.
func (l *pdfLayout) lines(x, y float64, lines []string, size float64) float64 {
	for _, t := range lines {
		if !l.dry {
			l.p.Text(x, y+0.78*lineHeight(size), t)
		}
		y += lineHeight(size)
	}
	return y
}

// lineHeight is the height in mm of a line of text of size points.
func lineHeight(size float64) float64 { return size * pdfLeading * 25.4 / 72 }

// wrap breaks text at spaces to the width, and inside a word that is longer.
func (l *pdfLayout) wrap(text string, width float64) []string {
	text = strings.Join(strings.Fields(l.letters(text)), " ")
	if text == "" {
		return []string{""}
	}
	return l.p.SplitText(text, width)
}

// goFont is looked at for what its letters are; the bold one has the same.
var goFont, _ = sfnt.Parse(goregular.TTF)

// letters puts a question mark for each letter that the fonts do not have, and
// remembers that it did: else a box would stand there. A middle dot becomes the dot
// operator, which the fonts draw at mid-height.
func (l *pdfLayout) letters(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '·' {
			return '∙'
		}
		if glyph, err := goFont.GlyphIndex(nil, r); r > ' ' && (err != nil || glyph == 0) {
			l.undrawn = true
			return '?'
		}
		return r
	}, s)
}

func (l *pdfLayout) font(size float64, bold bool, colour string) {
	l.p.SetFont("go", given(bold, "B"), size)
	l.p.SetTextColor(rgb(colour))
}

func (l *pdfLayout) stroke(colour string, width float64) {
	l.p.SetDrawColor(rgb(colour))
	l.p.SetLineWidth(width)
}

// rule draws a level line.
func (l *pdfLayout) rule(colour string, weight, x, y, width float64) {
	if !l.dry {
		l.stroke(colour, weight)
		l.p.Line(x, y, x+width, y)
	}
}

func (l *pdfLayout) fill(colour string) { l.p.SetFillColor(rgb(colour)) }

// rgb takes "#rrggbb" apart.
func rgb(colour string) (r, g, b int) {
	v, _ := strconv.ParseUint(strings.TrimPrefix(colour, "#"), 16, 32)
	return int(v >> 16 & 255), int(v >> 8 & 255), int(v & 255)
}
