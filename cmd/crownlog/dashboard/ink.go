package dashboard

import (
	"crownlog/analysis/gum"

	"github.com/gdamore/tcell/v2"
)

// An ink is what a character means; the palette turns it into a colour. No
// meaning is carried by colour alone.
type ink uint8

const (
	inkPlain   ink = iota
	inkStrong      // read from two metres
	inkFaint       // labels, scales, what is not measured yet
	inkInside      // proven inside the window
	inkOutside     // proven outside
	inkDoubt       // too close to call
	inkTrace       // the live reading
	inkStop        // a stop found in it
	inkWindow      // limits
	inkAction      // band: what to do next
	inkAlarm       // band: something is wrong
	inkCaution     // band: mind this at this step
	inkCurrent     // the position under the plunger
	inkHeader      // band: whose job this is
	inkFlash       // the header for a moment after a capture
	inkCount
)

// A palette is the style of every ink.
type palette [inkCount]tcell.Style

// newPalette returns the palette for a terminal. Blue, orange and yellow stay
// apart in the common forms of colour blindness; the terminal's own
// background is kept. Without colour the attributes tell bands and weights
// apart.
func newPalette(noColor, light bool) palette {
	plain := tcell.StyleDefault
	var p palette
	for i := range p {
		p[i] = plain
	}
	p[inkStrong] = plain.Bold(true)
	p[inkFaint] = plain.Dim(true)
	p[inkOutside] = plain.Bold(true)
	p[inkStop] = plain.Bold(true)
	p[inkAction] = plain.Bold(true)
	p[inkAlarm] = plain.Bold(true).Reverse(true)
	p[inkCaution] = plain.Underline(true)
	p[inkCurrent] = plain.Bold(true).Reverse(true)
	p[inkHeader] = plain.Reverse(true)
	p[inkFlash] = plain.Bold(true)
	if noColor {
		return p
	}
	blue, orange, yellow := tcell.Color75, tcell.Color214, tcell.Color228
	if light {
		blue, orange, yellow = tcell.Color25, tcell.Color130, tcell.Color58
	}
	p[inkInside] = plain.Foreground(blue)
	p[inkOutside] = plain.Foreground(orange).Bold(true)
	p[inkDoubt] = plain.Foreground(yellow)
	p[inkTrace] = plain.Foreground(blue)
	p[inkStop] = plain.Foreground(yellow).Bold(true)
	p[inkWindow] = plain.Foreground(orange)
	p[inkAlarm] = tcell.StyleDefault.Background(tcell.Color214).Foreground(tcell.Color16).Bold(true)
	p[inkCaution] = plain.Foreground(yellow)
	p[inkFlash] = tcell.StyleDefault.Background(tcell.Color75).Foreground(tcell.Color16).Bold(true)
	return p
}

// verdictInk and verdictMark say a verdict by colour and by shape.
func verdictInk(v gum.Verdict) ink {
	switch v {
	case gum.Inside:
		return inkInside
	case gum.Outside:
		return inkOutside
	case gum.TooClose:
		return inkDoubt
	}
	return inkPlain
}

// verdictMark is the shape of a measured value: ● inside, ◆ outside, △ too
// close to call, ■ nothing to judge it by.
func verdictMark(v gum.Verdict) rune {
	switch v {
	case gum.Inside:
		return '●'
	case gum.Outside:
		return '◆'
	case gum.TooClose:
		return '△'
	}
	return '■'
}
