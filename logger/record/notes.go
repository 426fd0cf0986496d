package record

import (
	"errors"
	"fmt"
	"math"
	"regexp"
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
