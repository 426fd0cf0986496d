package dashboard

import (
	"math"
	"strings"

	"crownlog/analysis/units"
)

// digitStrokes are the strokes of a digit, by the letters of a seven-segment
// display: a top, b upper right, c lower right, d bottom, e lower left, f upper
// left, g middle.
var digitStrokes = map[rune]string{
	'0': "abcdef", '1': "bc", '2': "abged", '3': "abgcd", '4': "fgbc",
	'5': "afgcd", '6': "afgedc", '7': "abc", '8': "abcdefg", '9': "abcdfg", '-': "g", ' ': "",
}

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

// digits draws s with block digits into the upper left of c and returns the
// columns used; s holds digits, blanks, '.', ':' and '-' only.
func digits(c canvas, s string, z digitSize, k ink) int {
	x := 0
	for _, r := range s {
		strokes, w := digitStrokes[r], z.wide(r)
		block(c, x, w, z.rows, k, func(px, py int) bool {
			switch r {
			case '.':
				return py >= 2*z.rows-z.stroke()
			case ':': // a dot in the middle of either half
				at := py%z.rows - z.rows/2
				return at >= 0 && at < z.stroke()
			}
			return z.lit(strokes, w, px, py)
		})
		x += w + z.gap()
	}
	return x - z.gap()
}

// lit reports whether the dot at column x and half row y of a digit w columns
// wide belongs to one of the strokes. The outer corners are cut.
func (z digitSize) lit(strokes string, w, x, y int) bool {
	t, h := z.stroke(), 2*z.rows
	mid := (h - t) / 2
	left, right := x < t, x >= w-t
	top, bottom, middle := y < t, y >= h-t, y >= mid && y < mid+t
	upper, lower := y < mid+t, y >= mid
	if min(x, w-1-x)+min(y, h-1-y) < t/2 {
		return false
	}
	on := func(stroke byte) bool { return strings.IndexByte(strokes, stroke) >= 0 }
	return top && on('a') || middle && on('g') || bottom && on('d') ||
		right && upper && on('b') || right && lower && on('c') ||
		left && lower && on('e') || left && upper && on('f')
}

// block draws a picture of cols columns by 2*rows half rows at column x of c.
func block(c canvas, x, cols, rows int, k ink, lit func(x, y int) bool) {
	for cy := range rows {
		for cx := range cols {
			switch up, down := lit(cx, 2*cy), lit(cx, 2*cy+1); {
			case up && down:
				c.set(x+cx, cy, '█', k)
			case up:
				c.set(x+cx, cy, '▀', k)
			case down:
				c.set(x+cx, cy, '▄', k)
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

// short formats v without a place for the sign; "–" where there is none.
func short(v float64, decimals int) string { return units.Fixed(v, decimals) }
