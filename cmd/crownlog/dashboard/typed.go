package dashboard

import (
	"strings"

	"github.com/gdamore/tcell/v2"
)

// startsNumber reports whether a key begins a typed value.
func startsNumber(e *tcell.EventKey) bool {
	return e.Key() == tcell.KeyRune && strings.ContainsRune("0123456789-+.,", e.Rune())
}

// typeValue edits the value being typed and hands it on whole.
func (p *panel) typeValue(e *tcell.EventKey) {
	switch e.Key() {
	case tcell.KeyEscape:
		p.typed = ""
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		r := []rune(p.typed)
		p.typed = string(r[:len(r)-1])
	case tcell.KeyEnter:
		p.src.Value(p.typed)
		p.typed = ""
	case tcell.KeyRune:
		if len(p.typed) < 40 {
			p.typed += string(e.Rune())
		}
	}
}

// paintTyped shows the value being typed in place of the keys.
func paintTyped(c canvas, typed string) {
	c.fill(inkCurrent)
	x := c.text(1, 0, "value "+typed+"_", inkCurrent)
	c.text(x+3, 0, "enter store   esc forget", inkCurrent)
}
