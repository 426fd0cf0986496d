package dashboard

import (
	"cmp"
	"strings"

	"crownlog/logger"
)

// screenText draws a round as the screen would and returns it as plain lines, each
// without trailing blanks.
func screenText(v logger.View, width, height int) string {
	c := newCanvas(width, height, false)
	paintRound(c, roundScene{View: v, card: v.Fresh})
	return c.String()
}

// String returns the picture as lines without trailing blanks.
func (c canvas) String() string {
	var b strings.Builder
	for y := range c.h {
		var line []rune
		for x := range c.w {
			if r := c.at(x, y).r; r != filler {
				line = append(line, cmp.Or(r, ' '))
			}
		}
		b.WriteString(strings.TrimRight(string(line), " ") + "\n")
	}
	return b.String()
}
