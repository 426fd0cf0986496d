package report

import (
	"strconv"
	"strings"
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
	var lines []string
	line := ""
	for _, word := range strings.Fields(bmp(text)) {
		for l.p.GetStringWidth(word) > width && len([]rune(word)) > 1 {
			fits := l.fitting(word, width)
			if line != "" {
				lines, line = append(lines, line), ""
			}
			lines = append(lines, word[:fits])
			word = word[fits:]
		}
		switch {
		case line == "":
			line = word
		case l.p.GetStringWidth(line+" "+word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// fitting is how many bytes of word fit into width, at least one letter.
func (l *pdfLayout) fitting(word string, width float64) int {
	last := 0
	for i := range word {
		if i > 0 && last > 0 && l.p.GetStringWidth(word[:i]) > width {
			return last
		}
		last = i
	}
	return last
}

// bmp replaces characters beyond the Basic Multilingual Plane, which the PDF
// writer's font tables cannot hold, and the middle dot of N·m by the dot
// operator, which the Go fonts draw at mid-height.
func bmp(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r > 0xffff:
			return '?'
		case r == '·':
			return '∙'
		}
		return r
	}, s)
}

func (l *pdfLayout) font(size float64, bold bool, colour string) {
	style := ""
	if bold {
		style = "B"
	}
	l.p.SetFont("go", style, size)
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
