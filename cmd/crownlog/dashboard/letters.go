package dashboard

import (
	_ "embed"
	"math"
	"slices"
	"strings"
)

// letterRows is the height of a letter in dots; letters are 3 to 5 dots wide.
const letterRows = 5

// letterTable has the block capitals, the digits and the marks of the ring, for
// what is read from two metres: a character a line, with its rows from the top down.
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

// A face is how large text is written: 0 in plain characters, else in block
// letters of so many columns and half rows a dot.
type face int

// high is the rows a line takes.
func (f face) high() int { return max(1, (letterRows*int(f)+1)/2) }

// wide is the columns s takes, more than there are where one of its characters has
// no block letter.
func (f face) wide(s string) int {
	if f == 0 {
		return textWidth(s)
	}
	dots := -1
	for _, r := range strings.ToUpper(s) {
		g, ok := letters[r]
		if !ok {
			return math.MaxInt32
		}
		dots += len(g[0]) + 1
	}
	return max(dots, 0) * int(f)
}

// fit is the largest face in which s is at most w columns wide and h rows high.
func (c canvas) fit(s string, w, h int) face {
	f := face(2 * h / letterRows)
	for f > 0 && (c.ascii || f.wide(s) > w) {
		f--
	}
	return max(f, 0)
}

// write draws s from x, y to the right and returns the column after it.
func (c canvas) write(x, y int, s string, f face, k ink) int {
	if f == 0 {
		return c.text(x, y, s, k)
	}
	c.block(x, y, s, int(f), letterRows*int(f), k)
	return x + f.wide(s)
}

// digits writes s as high as c, as far as that is at most three times as high as it
// is wide. It ends where template would, so that the digits of a number, which are
// all of one width, keep their size and place.
func (c canvas) digits(s, template string, k ink) {
	dot := face(min(c.w/face(1).wide(template), 2*c.h/letterRows))
	if dot == 0 || dot.wide(s) > c.w {
		c.word(s, k)
		return
	}
	c.block(dot.wide(template)-dot.wide(s), 0, s, int(dot), min(2*c.h, 3*letterRows*int(dot)), k)
}

// block draws s from x, y in block letters so many half rows high, each dot so many
// columns wide.
func (c canvas) block(x, y int, s string, dot, high int, k ink) {
	for _, r := range strings.ToUpper(s) {
		g := letters[r]
		for col := range len(g[0]) * dot {
			lit := func(row int) bool { return row < high && g[row*letterRows/high][col/dot] == '#' }
			for row := 0; row < high; row += 2 {
				switch up, down := lit(row), lit(row+1); {
				case up && down:
					c.set(x+col, y+row/2, '█', k)
				case up:
					c.set(x+col, y+row/2, '▀', k)
				case down:
					c.set(x+col, y+row/2, '▄', k)
				}
			}
		}
		x += (len(g[0]) + 1) * dot
	}
}

// big writes s in the largest block letters that fit over the rows of c, broken
// between words. It draws nothing and returns false where none do.
func (c canvas) big(s string, k ink) bool {
	for f := face(2 * c.h / letterRows); f > 0 && !c.ascii; f-- {
		lines := wrap(s, c.w, f.wide)
		if n := len(lines); n == 0 || n*f.high() > c.h || slices.ContainsFunc(lines, func(l string) bool { return f.wide(l) > c.w }) {
			continue
		}
		pitch := min((c.h+1)/len(lines), f.high()+1)
		for i, l := range lines {
			c.write(0, i*pitch, l, f, k)
		}
		return true
	}
	return false
}

// word writes a state or verdict as large as c allows, else in plain capitals.
func (c canvas) word(s string, k ink) {
	if !c.big(s, k) {
		c.text(0, c.h/2, clip(strings.ToUpper(s), c.w), k)
	}
}

// A part is a piece of a line in one ink.
type part struct {
	text string
	k    ink
}

// line writes parts from the left, in block letters where c is high enough for
// them and all have them. Parts that do not fit are left out.
func (c canvas) line(parts ...part) {
	f := face(1)
	for _, p := range parts {
		f = min(f, c.fit(p.text, c.w, c.h))
	}
	x := 0
	for _, p := range parts {
		if x+f.wide(p.text) > c.w {
			return
		}
		x = c.write(x, 0, p.text, f, p.k) + 2 + 4*int(f)
	}
}
