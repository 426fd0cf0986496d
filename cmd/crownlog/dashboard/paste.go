package dashboard

import (
	"strings"

	"github.com/rivo/tview"

	"crownlog/logger"
)

// PasteHandler implements tview.Primitive. What is pasted is one piece and presses
// no key: it goes into the line being typed, or into one for a value where a value
// may be typed.
func (p *panel) PasteHandler() func(string, func(tview.Primitive)) {
	return p.WrapPasteHandler(func(text string, _ func(tview.Primitive)) {
		if p.typed.what == typedNothing {
			if p.help || p.onPhone || p.onJob || p.onPattern() || p.view.State == logger.StateDone {
				return
			}
			p.typed.what = typedValue
		}
		p.typed.paste(strings.TrimSpace(text))
	})
}

// paste adds one line of text, or says why not.
func (t *typedLine) paste(text string) {
	if len(t.text)+len(text) > mostTyped || strings.ContainsAny(text, "\n\t") {
		t.wrong = "pasted: more than one line, or too long; nothing of it was taken"
		return
	}
	t.text, t.wrong = t.text+text, ""
}
