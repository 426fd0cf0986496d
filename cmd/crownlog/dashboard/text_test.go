package dashboard

import "crownlog/logger"

// screenText draws a round as the screen would and returns it as plain lines, each
// without trailing blanks.
func screenText(v logger.View, width, height int, o Options) string {
	c := newCanvas(width, height, o.ASCII)
	paintRound(c, roundScene{View: v, card: v.Fresh})
	return c.String()
}
