package dashboard

import (
	"strings"

	"github.com/gdamore/tcell/v2"

	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// typedFor is what a typed line is for.
type typedFor uint8

const (
	typedNothing typedFor = iota // the line is closed
	typedValue                   // a value read by eye
	typedReason                  // why to go past what the round blocks
	typedHold                    // why to pass a hold point, in the job view
	typedMove                    // how far the adjusters were moved
	typedNote                    // a note to be kept with the step
	typedPhoto                   // the path of a photo or another file to be kept
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
	switch {
	case e.Key() == tcell.KeyEscape:
		*t = typedLine{}
	case e.Key() == tcell.KeyEnter:
		return strings.TrimSpace(t.text) != ""
	case e.Key() != tcell.KeyRune:
		if text := []rune(t.text); len(text) > 0 && (e.Key() == tcell.KeyBackspace || e.Key() == tcell.KeyBackspace2) {
			t.text = string(text[:len(text)-1])
		}
	case len(t.text) < mostTyped && !t.taken(e.Rune()):
		t.text += string(e.Rune())
	}
	return false
}

// mostTyped is how many bytes a line may have: a reason of a few sentences.
const mostTyped = 400

// tail is the end of a text, which is what is being typed, in w columns.
func tail(text string, w int) string {
	for text != "" && textWidth(text) > w {
		text = string([]rune(text)[1:])
	}
	return text
}

// values are what is typed for a feature, each with its unit, "" where none is
// typed. What cannot be used stays to be mended.
func (t *typedLine) values(name string, division float64) ([]frame.KeyedValue, bool) {
	values, err := feature.ParseTyped(name, strings.TrimSpace(t.text), division)
	if err != nil {
		t.wrong = err.Error()
	}
	return values, err == nil
}

// move is how the adjusters are said to have been moved. What cannot be used
// stays to be mended.
func (t *typedLine) move() (record.Move, bool) {
	m, err := feature.ParseMove(t.text)
	if err != nil {
		t.wrong = err.Error()
	}
	return m, err == nil
}

// taken reports whether a rune adds nothing to a try of the lock, whose words
// one key has written: the rest of "yes", and all after a failure.
func (t *typedLine) taken(r rune) bool {
	rest := t.text == "yes " && (r == 'e' || r == 's')
	return t.what == typedValue && (rest || t.text == "no lock" || t.text == "no free")
}

// tryText is what a key begins the line of a try of the lock with, or of what is
// seen to at closing up; "" for another key.
func tryText(feature string, e *tcell.EventKey) string {
	switch {
	case feature == record.FeatureEngagement:
		return map[rune]string{'y': "yes ", 'l': "no lock", 'f': "no free"}[e.Rune()]
	case feature == record.FeatureCloseUp && e.Rune() == 'y':
		return "yes "
	}
	return ""
}

// typedLines say what is typed and what enter does with it.
var typedLines = map[typedFor]struct{ name, says string }{
	typedValue:  {"value", "enter store   "},
	typedReason: {"reason", "enter override   "},
	typedMove:   {"moved", "+ to the pinion; or crown in 1, far out 0.5   enter   "},
	typedNote:   {"note", "enter store   "},
	typedPhoto:  {"path of the photo", "enter store   "},
}

// paintTyped shows the line in place of the keys, and what it is for as far as
// there is room. unit is that of a value which names none.
func paintTyped(c canvas, t typedLine, unit string) {
	c.fill(inkCurrent)
	asked := typedLines[t.what]
	name, says := asked.name+" ", asked.says+"esc forget"
	switch {
	case t.wrong != "":
		says = t.wrong
	case t.what == typedValue && unit != "" && !strings.HasPrefix(t.text, "no "): // a failure has no value
		says = unit + " if you name none   " + says
	}
	x := c.text(1, 0, name+tail(t.text, c.w-textWidth(name)-3)+"_", inkCurrent)
	c.text(x+3, 0, clip(says, c.w-x-4), inkCurrent)
}
