package dashboard

import (
	"math"
	"strings"

	"crownlog/analysis/units"
)

// A digitSize is how large a number is drawn: rows high, each digit so many
// columns wide.
type digitSize struct{ rows, cols int }

// gap is the space between two digits.
func (z digitSize) gap() int { return max(1, z.cols/6) }

// wide is the columns of one character: the sign takes two thirds of a digit.
func (z digitSize) wide(r rune) int {
	switch r {
	case '.', ':':
		return z.stroke()
	case '-', ' ':
		return max(2, z.cols*2/3)
	}
	return z.cols
}

// stroke is the thickness of an upright stroke in columns, and of a level one
// in half rows, which are about as high as a column is wide.
func (z digitSize) stroke() int { return max(1, min((z.cols+1)/4, z.rows*2/5)) }

// span is the columns s takes.
func (z digitSize) span(s string) int {
	n := -z.gap()
	for _, r := range s {
		n += z.gap() + z.wide(r)
	}
	return n
}

// fitDigits returns the largest size in which template is at most w columns
// wide and h rows high. Rows go before columns: a number may be drawn up to
// half as wide as it would like before it loses height.
func fitDigits(template string, w, h int) digitSize {
	for rows := h; rows >= 2; rows-- {
		wide := max(3, rows*5/4)
		for cols := wide; cols >= max(3, rows*2/3); cols-- {
			if z := (digitSize{rows, cols}); z.span(template) <= w {
				return z
			}
		}
	}
	return digitSize{}
}

// digits draws s, of digits, blanks, '.', ':' and '-', from the upper left of c.
func digits(c canvas, s string, z digitSize, k ink) {
	x := 0
	for _, r := range s {
		g, w := letters[r], z.wide(r)
		if r == '1' { // as wide as the others, which keep their place beside it
			g = letters['|']
		}
		block(c, x, 0, w, z.rows, k, func(px, py int) bool {
			if at := py%z.rows - z.rows/2; r == ':' { // a dot in the middle of either half
				return at >= 0 && at < z.stroke()
			}
			return g[z.dot(py, 2*z.rows, letterRows)][z.dot(px, w, len(g[0]))] == '#'
		})
		x += w + z.gap()
	}
}

// dot is which of the n dots of a letter stands at a place of the length it is
// stretched to: its strokes keep their thickness, what lies between them grows.
func (z digitSize) dot(at, length, n int) int {
	t := z.stroke()
	switch mid := (length - t) / 2; {
	case at < t:
		return 0
	case at >= length-t:
		return n - 1
	case n < letterRows:
		return n / 2
	case at < mid:
		return 1
	case at >= mid+t:
		return 3
	}
	return 2
}

// block draws a picture of cols columns by 2*rows half rows from x, y of c.
func block(c canvas, x, y, cols, rows int, k ink, lit func(x, y int) bool) {
	for cy := range rows {
		for cx := range cols {
			switch up, down := lit(cx, 2*cy), lit(cx, 2*cy+1); {
			case up && down:
				c.set(x+cx, y+cy, '█', k)
			case up:
				c.set(x+cx, y+cy, '▀', k)
			case down:
				c.set(x+cx, y+cy, '▄', k)
			}
		}
	}
}

// number formats v with as many decimals as the gauge resolves; a place for
// the sign is always kept, so that the digits stay where they are.
func number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return " -" + strings.Repeat("-", max(decimals, 0))
	}
	s := units.Fixed(v, decimals)
	if s[0] != '-' {
		s = " " + s
	}
	return s
}
