package dashboard

import (
	"math"
	"strconv"
	"strings"

	"github.com/gdamore/tcell/v2"

	"crownlog/logger"
)

// startsNumber reports whether a key begins a typed value.
func startsNumber(e *tcell.EventKey) bool {
	return e.Key() == tcell.KeyRune && strings.ContainsRune("0123456789-+.,", e.Rune())
}

// typeValue edits the value being typed; enter hands it to the round. What is
// not a number stays to be mended.
func (p *panel) typeValue(e *tcell.EventKey) {
	p.unclear = false
	switch e.Key() {
	case tcell.KeyEscape:
		p.typed = ""
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		r := []rune(p.typed)
		p.typed = string(r[:len(r)-1])
	case tcell.KeyEnter:
		v, err := strconv.ParseFloat(strings.Replace(p.typed, ",", ".", 1), 64)
		if err != nil || math.IsInf(v, 0) {
			p.unclear = true
			return
		}
		p.src.Command(logger.CmdValue(v))
		p.typed = ""
	case tcell.KeyRune:
		if len(p.typed) < 20 {
			p.typed += string(e.Rune())
		}
	}
}

// paintTyped shows the value being typed in place of the keys.
func paintTyped(c canvas, typed string, unclear bool) {
	c.fill(inkCurrent)
	x := c.text(1, 0, "value "+typed+"_", inkCurrent)
	says := "enter store   esc forget"
	if unclear {
		says = "this is not a number: backspace mends it, esc forgets it"
	}
	c.text(x+3, 0, says, inkCurrent)
}
