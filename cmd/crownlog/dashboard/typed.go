package dashboard

import (
	"strings"

	"github.com/gdamore/tcell/v2"

	"crownlog/device"
	"crownlog/logger"
)

// typedFor is what a typed line is for.
type typedFor uint8

const (
	typedNothing typedFor = iota // the line is closed
	typedValue                   // a value read by eye
	typedReason                  // why to go past what the round blocks
	typedMove                    // how far the adjusters were moved
)

// A typedLine is what the fitter types for the round.
type typedLine struct {
	what  typedFor
	text  string
	wrong string // why the text cannot be used
}

// startsNumber reports whether a key begins a typed value.
func startsNumber(e *tcell.EventKey) bool {
	return e.Key() == tcell.KeyRune && strings.ContainsRune("0123456789-+.,", e.Rune())
}

// key edits the line; it is true for enter on a text.
func (t *typedLine) key(e *tcell.EventKey) bool {
	t.wrong = ""
	switch e.Key() {
	case tcell.KeyEscape:
		*t = typedLine{}
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		if r := []rune(t.text); len(r) > 0 {
			t.text = string(r[:len(r)-1])
		}
	case tcell.KeyEnter:
		return strings.TrimSpace(t.text) != ""
	case tcell.KeyRune:
		if t.taken(e.Rune()) {
			break
		}
		if len(t.text) < 200 {
			t.text += string(e.Rune())
		}
	}
	return false
}

// values are what is typed for a feature, each with its unit, "" where none is
// typed. What cannot be used stays to be mended.
func (t *typedLine) values(feature string, division float64) ([]device.KeyedValue, bool) {
	values, err := logger.ParseTyped(feature, strings.TrimSpace(t.text), division)
	if err != nil {
		t.wrong = err.Error()
	}
	return values, err == nil
}

// move is how the adjusters are said to have been moved: "-1", "1 not seated",
// "2 reversed", or with both words.
func (t *typedLine) move() (logger.Move, bool) {
	var m logger.Move
	amount := strings.ToLower(strings.TrimSpace(t.text))
	for _, word := range []struct {
		text string
		said *bool
	}{{"reversed", &m.Reversed}, {"not seated", &m.Unseated}, {"reversed", &m.Reversed}} { // in any order
		if rest, ok := strings.CutSuffix(amount, word.text); ok {
			amount, *word.said = strings.TrimRight(rest, " ,"), true
		}
	}
	v, unit, err := device.ParseKeyed(amount, 0)
	if err != nil || unit != "" || v == 0 {
		t.wrong = "how far, with its sign and without a unit; behind it not seated or reversed"
		return logger.Move{}, false
	}
	m.Amount = v
	return m, true
}

// taken reports whether a rune adds nothing to a try of the lock, whose words
// one key has written: the rest of "yes", and all after a failure.
func (t *typedLine) taken(r rune) bool {
	switch t.text {
	case "yes ":
		return r == 'e' || r == 's'
	case "no lock", "no free":
		return true
	}
	return false
}

// tryText is what a key begins the line of a try of the lock with, "" for
// another key.
func tryText(e *tcell.EventKey) string {
	return map[rune]string{'y': "yes ", 'l': "no lock", 'f': "no free"}[e.Rune()]
}

// paintTyped shows the line in place of the keys, and what it is for as far as
// there is room. unit is that of a value which names none.
func paintTyped(c canvas, t typedLine, unit string) {
	c.fill(inkCurrent)
	name, says := "value ", "enter store   esc forget"
	if strings.HasPrefix(t.text, "no ") {
		unit = "" // a failure has no value
	}
	if unit != "" {
		says = unit + " if you name none   " + says
	}
	switch t.what {
	case typedReason:
		name, says = "reason ", "enter override   esc forget"
	case typedMove:
		name, says = "moved ", "+ to the pinion; may add: not seated, reversed   enter   esc forget"
	}
	if t.wrong != "" {
		says = t.wrong
	}
	text := t.text
	room := c.w - textWidth(name) - 3
	for textWidth(text) > room { // the end is what is being typed
		text = string([]rune(text)[1:])
	}
	x := c.text(1, 0, name+text+"_", inkCurrent)
	c.text(x+3, 0, clip(says, c.w-x-4, c.ascii), inkCurrent)
}
