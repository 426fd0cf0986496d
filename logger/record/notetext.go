package record

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

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
