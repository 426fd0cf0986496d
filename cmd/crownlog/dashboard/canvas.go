package dashboard

import (
	"strings"

	"github.com/mattn/go-runewidth"
)

// A cell is one character of the picture and how it is inked. The zero rune is
// blank; the rune after a wide one is filler.
type cell struct {
	r   rune
	ink ink
}

const filler rune = -1 // right half of a wide character

// A canvas is a rectangle of cells that everything is drawn on. A pane of it
// shares its cells, so drawing outside a pane is cut off at the pane's edge.
type canvas struct {
	cells  []cell
	stride int
	x0, y0 int
	w, h   int
	ascii  bool // the terminal has no braille and no blocks
}

// newCanvas returns a blank canvas of w by h cells.
func newCanvas(w, h int, ascii bool) canvas {
	return canvas{cells: make([]cell, w*h), stride: w, w: w, h: h, ascii: ascii}
}

// pane returns the part of c that starts at x, y and is w by h cells, as far
// as it lies on c.
func (c canvas) pane(x, y, w, h int) canvas {
	x, y = min(max(x, 0), c.w), min(max(y, 0), c.h)
	c.w, c.h = min(max(w, 0), c.w-x), min(max(h, 0), c.h-y)
	c.x0, c.y0 = c.x0+x, c.y0+y
	return c
}

// at returns the cell at x, y, or nil outside c.
func (c canvas) at(x, y int) *cell {
	if x < 0 || y < 0 || x >= c.w || y >= c.h {
		return nil
	}
	return &c.cells[(c.y0+y)*c.stride+c.x0+x]
}

// set draws one narrow character.
func (c canvas) set(x, y int, r rune, k ink) {
	if p := c.at(x, y); p != nil {
		*p = cell{r, k}
	}
}

// blank reports whether nothing is drawn on w by h cells, all of which must lie on c.
func (c canvas) blank(x, y, w, h int) bool {
	for i := range w * h {
		if p := c.at(x+i%w, y+i/w); p == nil || p.r != 0 {
			return false
		}
	}
	return true
}

// fill inks every cell of c and leaves it without a character, so that a band
// reaches from edge to edge.
func (c canvas) fill(k ink) {
	for y := range c.h {
		for x := range c.w {
			c.set(x, y, ' ', k)
		}
	}
}

// text writes s from x, y to the right and returns the column after it.
// Control characters are left out.
func (c canvas) text(x, y int, s string, k ink) int {
	for _, r := range s {
		w := narrow.RuneWidth(r)
		if w > 1 {
			if x+1 >= c.w {
				return c.w
			}
			c.set(x+1, y, filler, k)
		}
		if w > 0 {
			c.set(x, y, r, k)
		}
		x += w
	}
	return x
}

// right writes s so that it ends before column x.
func (c canvas) right(x, y int, s string, k ink) { c.text(x-textWidth(s), y, s, k) }

// centre writes s in the middle of row y.
func (c canvas) centre(y int, s string, k ink) { c.text((c.w-textWidth(s))/2, y, s, k) }

// paragraph writes s over the rows of c, broken between words, and returns the
// number of rows used. What does not fit ends in an ellipsis.
func (c canvas) paragraph(s string, k ink) int {
	lines := wrap(s, c.w, textWidth)
	if n := c.h; n > 0 && len(lines) > n {
		lines = append(lines[:n-1], clip(lines[n-1]+" "+lines[n], c.w))
	}
	for y, line := range lines {
		c.text(0, y, line, k)
	}
	return min(len(lines), c.h)
}

// bar writes the ends of a band that reaches over the first row.
func (c canvas) bar(left, right string, k ink) {
	c.h = min(c.h, 1)
	c.fill(k)
	c.text(1, 0, clip(left, c.w-textWidth(right)-2), k)
	c.right(c.w, 0, right, k)
}

// A column is a canvas written on from the top down.
type column struct {
	canvas
	y int // the next row
}

// say adds a paragraph, if there is one and a row is left.
func (c *column) say(s string, k ink) {
	if s != "" && c.y < c.h {
		c.y += c.below().paragraph(s, k)
	}
}

// below is what lies under what is written.
func (c *column) below() canvas { return c.pane(0, c.y, c.w, c.h-c.y) }

// narrow measures characters of ambiguous width as one column, as tcell does, and
// control and combining ones as none.
var narrow = &runewidth.Condition{}

// textWidth is the columns s takes.
func textWidth(s string) int { return narrow.StringWidth(s) }

// clip cuts s to w columns; a cut is shown by an ellipsis.
func clip(s string, w int) string {
	if w <= 0 {
		return ""
	}
	return narrow.Truncate(s, w, "…")
}

// tail is the end of a text, which is what is being typed, in w columns.
func tail(s string, w int) string { return narrow.TruncatePrefix(s, w, "") }

// wrap breaks s between words into lines of at most w columns, as wide measures
// them; a longer word stays whole.
func wrap(s string, w int, wide func(string) int) []string {
	var lines []string
	for _, word := range strings.Fields(s) {
		if n := len(lines); n > 0 && wide(lines[n-1]+" "+word) <= w {
			lines[n-1] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}

// plainRunes are the ASCII characters that stand for others on a terminal that has
// no others.
var plainRunes = map[rune]string{
	'd': "°", '~': "±…", '.': "·•", 'u': "µμ", 'x': "×", '-': "–—−─━", '|': "│┃",
	'@': "●", 'o': "○", 'X': "◆", '?': "△", '#': "■█▀▄", '%': "▓",
	'>': "→▶▸", '<': "←◀◂", '^': "↑", 'v': "↓▼", '+': "✓┌┐└┘", 'c': "◔", 'D': "◑", 'Q': "◕",
}
