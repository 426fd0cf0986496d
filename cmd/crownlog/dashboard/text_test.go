package dashboard

import (
	"cmp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

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

// What to do is never cut, however short the alert above it is.
func TestActionIsWholeBelowAnAlert(t *testing.T) {
	v := measuringScene()
	v.Alert, v.Action = "No reading yet.", "Turn the wheel steadily one way, two turns in about a minute, then press space."
	assert.Contains(t, strings.Join(strings.Fields(screenText(v, 80, 24)), " "), "then press space.")
	v.Action = "Turn the wheel steadily."
	text := screenText(v, 80, 24)
	assert.Contains(t, text, v.Action)
	assert.Contains(t, text, "▀▀▀", "in large letters where both fit")
}
