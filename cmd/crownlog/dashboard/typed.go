package dashboard

import (
	"math"
	"strconv"
	"strings"

	"github.com/gdamore/tcell/v2"

	"crownlog/logger"
)

// A typedLine is what the fitter types for the round: a value read by eye, or
// the reason for going past what the round blocks.
type typedLine struct {
	open    bool
	reason  bool // a reason; else a value
	text    string
	unclear bool // it is not a number
}

// startsNumber reports whether a key begins a typed value.
func startsNumber(e *tcell.EventKey) bool {
	return e.Key() == tcell.KeyRune && strings.ContainsRune("0123456789-+.,", e.Rune())
}

// key edits the line; enter closes it and returns the command it makes. What
// cannot be used stays to be mended.
func (t *typedLine) key(e *tcell.EventKey) (logger.Command, bool) {
	t.unclear = false
	switch e.Key() {
	case tcell.KeyEscape:
		*t = typedLine{}
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		if r := []rune(t.text); len(r) > 0 {
			t.text = string(r[:len(r)-1])
		}
	case tcell.KeyEnter:
		return t.command()
	case tcell.KeyRune:
		if len(t.text) < 200 {
			t.text += string(e.Rune())
		}
	}
	return "", false
}

func (t *typedLine) command() (cmd logger.Command, ok bool) {
	text := strings.TrimSpace(t.text)
	if t.reason {
		if text == "" {
			return "", false
		}
		cmd = logger.CmdOverride(text)
	} else {
		v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			t.unclear = true
			return "", false
		}
		cmd = logger.CmdValue(v)
	}
	*t = typedLine{}
	return cmd, true
}

// paintTyped shows the line in place of the keys.
func paintTyped(c canvas, t typedLine) {
	c.fill(inkCurrent)
	name, says := "value ", "enter store   esc forget"
	switch {
	case t.reason:
		name, says = "reason ", "enter override   esc forget"
	case t.unclear:
		says = "this is not a number: backspace mends it, esc forgets it"
	}
	text := t.text
	for textWidth(text) > c.w-textWidth(name+says)-6 && text != "" { // the end is what is being typed
		text = string([]rune(text)[1:])
	}
	x := c.text(1, 0, name+text+"_", inkCurrent)
	c.text(x+3, 0, says, inkCurrent)
}
