package dashboard

import (
	"github.com/gdamore/tcell/v2"

	"crownlog/analysis/gum"
	"crownlog/logger"
)

// An ink is what a character means; the palette turns it into a colour. No
// meaning is carried by colour alone.
type ink uint8

const (
	inkPlain   ink = iota
	inkStrong      // read from two metres
	inkFaint       // labels, scales, what is not measured yet
	inkInside      // proven inside the window; the live reading
	inkOutside     // proven outside
	inkDoubt       // too close to call; a stop found in the reading
	inkWindow      // limits
	inkAction      // band: what to do next
	inkAlarm       // band: something is wrong
	inkCaution     // band: mind this at this step
	inkCurrent     // the position under the plunger
	inkHeader      // band: whose job this is
	inkFlash       // the header while the place is stored and the plunger still on it
	inkCode        // light modules of a QR code, on dark whatever the terminal's own are
	inkCount
)

// A palette is the style of every ink.
type palette [inkCount]tcell.Style

// newPalette returns the palette for a terminal, whose own background is kept.
// No terminal says reliably whether that is dark or light, least of all over ssh
// or in tmux, so one palette has to be read on both: each colour has a contrast
// of at least 3.5 with black and with white (WCAG 2.2 asks 3 of large text and of
// graphics). Blue, orange and mauve stay apart in all forms of colour blindness.
// Without colour the attributes tell bands and weights apart.
func newPalette(noColor bool) palette {
	plain := tcell.StyleDefault
	p := palette{ // the zero style is plain
		inkStrong:  plain.Bold(true),
		inkFaint:   plain.Dim(true),
		inkOutside: plain.Bold(true),
		inkAction:  plain.Bold(true),
		inkAlarm:   plain.Bold(true).Reverse(true),
		inkCaution: plain.Underline(true),
		inkCurrent: plain.Bold(true).Reverse(true),
		inkHeader:  plain.Reverse(true),
		inkFlash:   plain.Bold(true),
	}
	if noColor {
		return p
	}
	blue, orange, mauve := tcell.Color33, tcell.Color166, tcell.Color132
	p[inkInside] = plain.Foreground(blue)
	p[inkOutside] = plain.Foreground(orange).Bold(true)
	p[inkDoubt] = plain.Foreground(mauve)
	p[inkWindow] = plain.Foreground(orange)
	p[inkAlarm] = tcell.StyleDefault.Background(tcell.Color214).Foreground(tcell.Color16).Bold(true)
	p[inkCaution] = plain.Foreground(mauve)
	p[inkFlash] = tcell.StyleDefault.Background(tcell.Color75).Foreground(tcell.Color16).Bold(true)
	p[inkCode] = tcell.StyleDefault.Background(tcell.Color16).Foreground(tcell.Color231)
	return p
}

// A look is how a mark of the ring says something: by shape and by colour.
type look struct {
	mark rune
	k    ink
	says string // in the legend
}

// verdictLooks are the looks of a measured value.
var verdictLooks = map[gum.Verdict]look{
	gum.Inside:     {'●', inkInside, "inside"},
	gum.TooClose:   {'△', inkDoubt, logger.NotSure},
	gum.Outside:    {'◆', inkOutside, "outside"},
	gum.NotDecided: {'■', inkPlain, "no window"},
}
