package dashboard

import (
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// A purpose is what a line is typed for.
type purpose struct {
	name, says string                            // what is typed, and what enter does with it
	use        func(p *panel, text string) error // does it; the error says why the text cannot be used
}

var (
	typedValue = &purpose{"value", "enter store   ", func(p *panel, text string) error {
		values, err := feature.ParseTyped(p.view.Feature, text, p.src.Division)
		for _, v := range values {
			p.src.Command(logger.CmdKeyed(v.Value, v.Unit))
		}
		return err
	}}
	// why to go past what the round blocks or, in the job view, the chosen hold point
	typedReason = &purpose{"reason", "enter override   ", func(p *panel, text string) error {
		if !p.onJob {
			p.src.Command(logger.CmdOverride(text))
		} else if open := p.src.Job().open(); p.job.hold < len(open) {
			p.src.Override(open[p.job.hold].Name, text)
			p.job.hold = 0
		}
		return nil
	}}
	typedMove = &purpose{"moved", "+ to the pinion; or crown in 1, far out 0.5   enter   ", func(p *panel, text string) error {
		m, err := feature.ParseMove(text)
		if err == nil {
			p.src.Next(job.Request{Moved: m})
		}
		return err
	}}
	// what is to be kept with the step
	typedNote = &purpose{"note", "enter store   ", func(p *panel, text string) error {
		p.src.Keep("", text)
		return nil
	}}
	typedPhoto = &purpose{"path of the photo", "enter store   ", func(p *panel, text string) error {
		p.src.Keep(text, "")
		return nil
	}}
)

// A typedLine is what the fitter types for the round.
type typedLine struct {
	what  *purpose // nil: the line is closed
	text  string
	wrong string // why the text cannot be used
}

// key edits the line; it is true for enter on a text.
func (t *typedLine) key(e *tcell.EventKey) bool {
	t.wrong = ""
	switch text := []rune(t.text); {
	case e.Key() == tcell.KeyEscape:
		*t = typedLine{}
	case e.Key() == tcell.KeyEnter:
		return strings.TrimSpace(t.text) != ""
	case e.Key() == tcell.KeyBackspace || e.Key() == tcell.KeyBackspace2:
		t.text = string(text[:max(len(text)-1, 0)])
	case e.Key() == tcell.KeyRune && len(t.text) < mostTyped && !t.taken(e.Rune()):
		t.text += string(e.Rune())
	}
	return false
}

// mostTyped is how many bytes a line may have: a reason of a few sentences.
const mostTyped = 400

// taken reports whether a rune adds nothing to a try of the lock, whose words
// one key has written: the rest of "yes", and all after a failure.
func (t *typedLine) taken(r rune) bool {
	rest := t.text == "yes " && (r == 'e' || r == 's')
	return t.what == typedValue && (rest || t.text == "no lock" || t.text == "no free")
}

// PasteHandler implements tview.Primitive. What is pasted is one piece and presses
// no key: it goes into the line being typed, or into one for a value where a value
// may be typed.
func (p *panel) PasteHandler() func(string, func(tview.Primitive)) {
	return p.WrapPasteHandler(func(text string, _ func(tview.Primitive)) {
		t, text := &p.typed, strings.TrimSpace(text)
		switch {
		case t.what != nil:
		case p.help || p.onPhone || p.onJob || p.onPattern() || p.view.State == logger.StateDone:
			return
		default:
			t.what = typedValue
		}
		if len(t.text)+len(text) > mostTyped || strings.ContainsAny(text, "\n\t") {
			t.wrong = "pasted: more than one line, or too long; nothing of it was taken"
			return
		}
		t.text, t.wrong = t.text+text, ""
	})
}

// tryTexts are what a key begins the line of a try of the lock with, or of what is
// seen to at closing up.
var tryTexts = map[string]map[rune]string{
	record.FeatureEngagement: {'y': "yes ", 'l': "no lock", 'f': "no free"},
	record.FeatureCloseUp:    {'y': "yes "},
}

// paintTyped shows the line in place of the keys, and what it is for as far as
// there is room. unit is that of a value which names none.
func paintTyped(c canvas, t typedLine, unit string) {
	c.fill(inkCurrent)
	name, says := t.what.name+" ", t.what.says+"esc forget"
	switch {
	case t.wrong != "":
		says = t.wrong
	case t.what == typedValue && unit != "" && !strings.HasPrefix(t.text, "no "): // a failure has no value
		says = unit + " if you name none   " + says
	}
	x := c.text(1, 0, name+tail(t.text, c.w-textWidth(name)-3)+"_", inkCurrent)
	c.text(x+3, 0, clip(says, c.w-x-4), inkCurrent)
}
