package dashboard

import (
	_ "embed"
	"slices"
	"strings"
)

// letterRows is the height of a letter in dots; letters are 3 to 5 dots wide.
const letterRows = 5

// letterTable has the block capitals and the marks of the ring, for what is read
// from two metres: a character a line, with its rows from the top down.
//
//go:embed letters.txt
var letterTable string

var letters = func() map[rune][]string {
	table := map[rune][]string{' ': slices.Repeat([]string{"."}, letterRows)}
	for line := range strings.Lines(letterTable) {
		rows := strings.Fields(line)
		table[[]rune(rows[0])[0]] = rows[1:]
	}
	return table
}()

// lettersHigh is the rows block letters of a scale take.
func lettersHigh(scale int) int { return (letterRows*scale + 1) / 2 }

// lettersWide is the columns s takes in block letters of a scale; ok is false
// where a character has no block letter.
func lettersWide(s string, scale int) (n int, ok bool) {
	for _, r := range strings.ToUpper(s) {
		g, known := letters[r]
		if !known {
			return 0, false
		}
		n += (len(g[0]) + 1) * scale
	}
	return max(n-scale, 0), true
}

// bigText draws s in block letters of a scale from the upper left of c.
func bigText(c canvas, s string, scale int, k ink) {
	x := 0
	for _, r := range strings.ToUpper(s) {
		g := letters[r]
		w := len(g[0]) * scale
		block(c, x, w, lettersHigh(scale), k, func(px, py int) bool {
			return py/scale < letterRows && g[py/scale][px/scale] == '#'
		})
		x += w + scale
	}
}

// fitScale is the largest scale at which s in block letters is at most w columns
// wide and h rows high; 0 where there is none.
func fitScale(c canvas, s string, w, h int) int {
	for scale := 2 * h / letterRows; scale >= 1 && !c.ascii; scale-- {
		if n, ok := lettersWide(s, scale); ok && n <= w && lettersHigh(scale) <= h {
			return scale
		}
	}
	return 0
}

// word writes a state or verdict word as large as c allows: block letters
// where they fit, else plain capitals.
func word(c canvas, s string, k ink) {
	if scale := fitScale(c, s, c.w, c.h); scale > 0 {
		bigText(c, s, scale, k)
		return
	}
	c.text(0, c.h/2, clip(strings.ToUpper(s), c.w), k)
}

// bigParagraph writes s in the largest block letters that fit over the rows of
// c, broken between words. It draws nothing and returns false
// where s does not fit.
func bigParagraph(c canvas, s string, k ink) bool {
	if c.ascii {
		return false
	}
	for scale := c.h / lettersHigh(1); scale >= 1; scale-- {
		lines, ok := bigWrap(s, scale, c.w)
		high := lettersHigh(scale)
		if !ok || len(lines)*high > c.h {
			continue
		}
		pitch := min((c.h+1)/len(lines), high+1)
		for i, l := range lines {
			bigText(c.pane(0, i*pitch, c.w, high), l, scale, k)
		}
		return true
	}
	return false
}

// bigWrap breaks s between words into lines of at most w columns of block
// letters; ok is false where that cannot be done.
func bigWrap(s string, scale, w int) (lines []string, ok bool) {
	line := ""
	for _, next := range strings.Fields(s) {
		if n, known := lettersWide(next, scale); !known || n > w {
			return nil, false
		}
		longer := strings.TrimSpace(line + " " + next)
		if n, _ := lettersWide(longer, scale); n > w {
			lines, longer = append(lines, line), next
		}
		line = longer
	}
	return append(lines, line), line != ""
}

// A part is a piece of a line in one ink.
type part struct {
	text string
	k    ink
}

// line writes parts from the left with gap columns between them, in block
// letters where c is high enough for them and all have one. Parts that do not
// fit are left out.
func (c canvas) line(gap int, parts ...part) {
	big := c.h >= lettersHigh(1) && !c.ascii
	for _, p := range parts {
		_, ok := lettersWide(p.text, 1)
		big = big && ok
	}
	x := 0
	for _, p := range parts {
		w := textWidth(p.text)
		if big {
			w, _ = lettersWide(p.text, 1)
		}
		if x+w > c.w {
			return
		}
		if big {
			bigText(c.pane(x, 0, w, c.h), p.text, 1, p.k)
			x += w + 3*gap
		} else {
			x = c.text(x, 0, p.text, p.k) + gap
		}
	}
}
