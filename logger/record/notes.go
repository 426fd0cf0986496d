package record

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Blank is a capture without any number.
func Blank(stage, name string, at time.Time) Capture {
	nan := math.NaN()
	return Capture{
		Time: at, Stage: stage, Feature: name, AngleDeg: nan, Value: nan, U: nan,
		Low: nan, High: nan, Repeatability: nan, RadiusMM: nan, Quality: QualityOK,
	}
}

// A Move is what was done to the adjusters.
type Move struct {
	Amount float64 // in Unit; + is the crown wheel towards the pinion: in by so much on its side, out on the far side
	Unit   string  // "notch", or "mm" of shim
	Note   string  // which side first, how it seated

	// Where the sides were not moved alike: in by so much on either, - is out. The
	// wheel follows by half of what they differ by, which Amount then is.
	Near, Far float64

	// Neither teaches what one notch does: a bearing cup did not follow the
	// adjuster, or the adjuster was turned back on the way.
	Unseated, Reversed bool
}

// Sides are what a move did on the crown-wheel side and on the far side: in by so
// much, - is out.
func (c Capture) Sides() (near, far float64) {
	if c.Near == 0 && c.Far == 0 {
		return c.Value, -c.Value
	}
	return c.Near, c.Far
}

// AddMove records an adjuster move. A move of nothing is refused: it would
// take away what was measured before it. So is one as found, for then nothing
// would be as it was found.
func AddMove(st Store, stage string, m Move, at time.Time) (Capture, error) {
	if m.Near != 0 || m.Far != 0 {
		m.Amount = (m.Near - m.Far) / 2
	}
	if m.Amount == 0 && m.Near == 0 || math.IsNaN(m.Amount) || math.IsInf(m.Amount, 0) {
		return Capture{}, fmt.Errorf("move of %v: want a number of notches or mm, not 0", m.Amount)
	}
	if stage == StageAsFound {
		return Capture{}, fmt.Errorf("a move in the stage %s: what is as found is not moved; name the stage it was moved in", stage)
	}
	if m.Unit != "notch" && m.Unit != "mm" {
		return Capture{}, fmt.Errorf("unit %q of a move: want notch or mm", m.Unit)
	}
	c := Blank(stage, FeatureMove, at)
	c.Value, c.Unit, c.Note, c.Unseated, c.Reversed = m.Amount, m.Unit, m.Note, m.Unseated, m.Reversed
	if m.Near != -m.Far {
		c.Near, c.Far = m.Near, m.Far
	}
	return st.Append(c)
}

// AddNote records free text: sealant, grade of oil, anything.
func AddNote(st Store, stage, text string, at time.Time) (Capture, error) {
	if strings.TrimSpace(text) == "" {
		return Capture{}, errors.New("the note is empty")
	}
	c := Blank(stage, FeatureNote, at)
	c.Note = text
	return st.Append(c)
}

// A reason has at least so many words and letters: what is shorter, "ok" or a
// dot, tells nobody later why a step was skipped.
const (
	leastWords   = 2
	leastLetters = 8
)

var inWords = regexp.MustCompile(`\pL+`)

// CheckReason refuses what is no reason in words for skipping something.
func CheckReason(reason string) error {
	words := inWords.FindAllString(reason, -1)
	if len(words) < leastWords || utf8.RuneCountInString(strings.Join(words, "")) < leastLetters {
		return fmt.Errorf("%q is no reason: say in %d words or more, of %d letters together, why it is skipped", CutLong(reason), leastWords, leastLetters)
	}
	return nil
}

// AddOverride records that the named hold point or block was skipped, and why:
// see CheckReason.
func AddOverride(st Store, stage, name, reason string, at time.Time) (Capture, error) {
	if err := CheckReason(reason); err != nil {
		return Capture{}, err
	}
	c := Blank(stage, FeatureOverride, at)
	c.Hold, c.Note = name, reason
	return st.Append(c)
}

// AddCheck records that somebody saw to the named entry of a list; note says to what.
func AddCheck(st Store, stage, name, note string, at time.Time) (Capture, error) {
	c := Blank(stage, FeatureCheck, at)
	c.Hold, c.Note = name, note
	return st.Append(c)
}

// quotedLength is how much of a cell or a line a message repeats, in letters.
const quotedLength = 60

// CutLong keeps a text from a file short enough for one line of a message.
func CutLong(s string) string {
	if utf8.RuneCountInString(s) <= quotedLength {
		return s
	}
	return string([]rune(s)[:quotedLength]) + "…"
}

// The note cell of a stored capture holds, in words, what some features know
// beyond their number, with the free text behind it:
//
//	a bolt      pass 2 of 3 (60 %); text
//	            pass 3 of 3 (100 %), then 90°; text
//	a move      not seated, reversed: text
//	            crown-wheel side +1, far side +0; not seated: text
//	an override as-found-backlash: reason
//	a check     caps-marked: bearing caps marked left and right
//	a file      attached attachments/0007-a.jpg sha256:... text
//
// In front of it all stands who entered it, where that is known:
//
//	entered by Ann; as-found-backlash: reason
//
// The words are for who opens the file in a spreadsheet; the program reads the
// fields of Capture. This is the one place that turns the one into the other,
// and whatever a cell holds, NoteText gives it back as it was read: the words
// of a cell that was written otherwise stay in Note.

// NoteText is the note of c with its facts in words, as it is stored and shown.
func (c Capture) NoteText() string {
	if c.By != "" {
		return Fronted("entered by "+c.By, "; ", c.factText())
	}
	return c.factText()
}

// enteredNote is a note cell with who entered it.
var enteredNote = regexp.MustCompile(`^entered by ([^;]+)(?:; (.+))?$`)

// factText is the note without who entered it.
func (c Capture) factText() string {
	switch c.Feature {
	case FeatureWheelBolts, FeatureCapBolts:
		if c.Pass.N > 0 {
			return Fronted(c.Pass.text(), "; ", c.Note)
		}
	case FeatureMove:
		if c.Near != 0 || c.Far != 0 {
			return Fronted(fmt.Sprintf("crown-wheel side %+g, far side %+g", c.Near, c.Far), "; ", c.moveText())
		}
		return c.moveText()
	case FeatureOverride, FeatureCheck:
		if c.Hold != "" {
			return c.Hold + ": " + c.Note
		}
	case FeatureNote:
		if c.Attachment.Path != "" {
			return Fronted("attached "+c.Attachment.Path+" sha256:"+c.Attachment.SHA256, " ", c.Note)
		}
	}
	return c.Note
}

// Fronted puts words in front of a note, if there is one.
func Fronted(words, between, note string) string {
	if note == "" {
		return words
	}
	return words + between + note
}

func (p Pass) text() string {
	text := fmt.Sprintf("pass %d of %d (%d %%)", p.N, p.Of, p.Percent)
	if p.Degrees != 0 {
		text += fmt.Sprintf(", then %g°", p.Degrees)
	}
	return text
}

// moveWords say what must not teach the advice how far one notch goes.
var moveWords = []struct {
	unseated, reversed bool
	words              string
}{
	{true, true, "not seated, reversed"}, // before those it begins with
	{true, false, "not seated"},
	{false, true, "reversed"},
}

// moveText leaves a note alone that begins with the words already: before there
// were fields, that is how they were given, with anything behind them.
func (c Capture) moveText() string {
	for _, m := range moveWords {
		if m.unseated == c.Unseated && m.reversed == c.Reversed && !strings.HasPrefix(c.Note, m.words) {
			return Fronted(m.words, ": ", c.Note)
		}
	}
	return c.Note
}

// ReadNote takes a note cell apart into the fields of c, whose Feature is set.
func (c *Capture) ReadNote(text string) {
	c.By = ""
	if m := enteredNote.FindStringSubmatch(text); m != nil {
		c.By, text = m[1], m[2]
	}
	c.Note, c.Pass, c.Hold, c.Attachment = text, Pass{}, "", Attachment{}
	c.Unseated, c.Reversed, c.Near, c.Far = false, false, 0, 0
	switch c.Feature {
	case FeatureWheelBolts, FeatureCapBolts:
		c.readPass(text)
	case FeatureMove:
		c.readMove(text)
	case FeatureOverride, FeatureCheck:
		if hold, reason, ok := strings.Cut(text, ": "); ok && hold != "" {
			c.Hold, c.Note = hold, reason
		}
	case FeatureNote:
		if m := attachedNote.FindStringSubmatch(text); m != nil {
			c.Attachment, c.Note = Attachment{Path: m[1], SHA256: m[2]}, m[3]
		}
	}
}

// passedNote takes numbers as they are written, without zeros in front.
var passedNote = regexp.MustCompile(`^pass ([1-9]\d{0,3}) of ([1-9]\d{0,3}) \(([1-9]\d{0,3}|0) %\)(?:, then ([\d.]+)°)?(?:; (.+))?$`)

func (c *Capture) readPass(text string) {
	m := passedNote.FindStringSubmatch(text)
	if m == nil {
		return
	}
	n, _ := strconv.Atoi(m[1]) // of four digits at most
	of, _ := strconv.Atoi(m[2])
	percent, _ := strconv.Atoi(m[3])
	degrees, _ := strconv.ParseFloat(m[4], 64)
	c.Pass, c.Note = Pass{N: n, Of: of, Percent: percent, Degrees: degrees}, m[5]
	if c.factText() != text { // degrees written in another way
		c.Pass, c.Note = Pass{}, text
	}
}

var sidesNote = regexp.MustCompile(`^crown-wheel side ([+-][\d.]+), far side ([+-][\d.]+)(?:; (.+))?$`)

// readMove reads the words at the beginning, whatever follows them.
func (c *Capture) readMove(text string) {
	if m := sidesNote.FindStringSubmatch(text); m != nil {
		c.Note = m[3]
		c.readMove(m[3])
		c.Near, _ = strconv.ParseFloat(m[1], 64)
		c.Far, _ = strconv.ParseFloat(m[2], 64)
		if c.factText() != text { // numbers written in another way
			c.Note, c.Near, c.Far, c.Unseated, c.Reversed = text, 0, 0, false, false
		}
		return
	}
	for _, m := range moveWords {
		rest, ok := strings.CutPrefix(text, m.words)
		if !ok {
			continue
		}
		c.Unseated, c.Reversed = m.unseated, m.reversed
		if c.Note = strings.TrimPrefix(rest, ": "); c.moveText() != text {
			c.Note = text
		}
		return
	}
}

// attachedNote leaves to the path whatever a file was called by an earlier
// version, but for a slash.
var attachedNote = regexp.MustCompile(`^attached (` + AttachmentsDir + `/[^/]+?) sha256:([0-9a-f]{64})(?: (.+))?$`)
