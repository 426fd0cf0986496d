package frame

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Flags are doubts about one reading, and what else is special about it. Zero
// means nothing.
type Flags uint16

const (
	FlagHold        Flags = 1 << iota // the gauge says its display is held
	FlagLowBattery                    // the gauge says its battery is low
	FlagUnitChanged                   // the unit sent differs from the unit before
	FlagDuplicate                     // the same numbered or time-stamped frame again
	FlagOverRange                     // the gauge reports a value beyond its travel or scale
	FlagFrozen                        // bit for bit the same digits for longer than a hand can hold still
	FlagPress                         // sent at a press of the gauge's key or a click of the wrench: no other reading belongs to it
)

// flagWords are the words of the flags, in the order of the constants.
var flagWords = []string{"hold", "low-battery", "unit-changed", "duplicate", "over-range", "frozen", "press"}

// Words names the flags in f, as a readings file does.
func (f Flags) Words() []string {
	var words []string
	for i, word := range flagWords {
		if f&(1<<i) != 0 {
			words = append(words, word)
		}
	}
	return words
}

// FlagOf returns the flag of a word, 0 for one that is none.
func FlagOf(word string) Flags {
	if i := slices.Index(flagWords, word); i >= 0 {
		return 1 << i
	}
	return 0
}

// A Frame is one message of a gauge: a value, or a frame that was heard and
// could not be trusted.
type Frame struct {
	Raw      []byte    // the frame without its line end; valid until the callback returns
	Binary   bool      // Raw is to be shown in hex
	Bad      string    // why the frame is not trusted; "" for a sound one
	Value    float64   // finite, in Unit; meaningless when Bad
	Unit     string    // as a Reading carries it; "" when the frame names none
	Decimals int       // digits after the decimal point, -1 where the form has none
	Flags    Flags     // what the frame itself says: hold, low battery, over-range
	Refused  bool      // the gauge answered that it has no value; Bad says why
	At       time.Time // when its last byte arrived, as given to Feed
	Seq      string    // the frame's own number or time stamp, "": it has none
}

// Text returns what came as text, or in hex for a binary frame.
func (f *Frame) Text() string {
	if f.Binary {
		return hex.EncodeToString(f.Raw)
	}
	return string(f.Raw)
}

// A Decoder turns the bytes of one gauge into frames. Every byte it is fed ends
// up in one frame, sound or garbled, or in the unfinished one; only line ends,
// blanks and a question come back leave no trace. It keeps a bounded
// partial frame between calls and never blocks. A decoder serves one stream
// and one goroutine.
type Decoder interface {
	// Feed takes the next bytes, which arrived at the time given, and calls emit
	// for every frame they complete, in order. The frame is the decoder's own:
	// valid until emit returns. It reports whether they completed a frame that is
	// kept back because it breaks a habit of the gauge.
	Feed(at time.Time, p []byte, emit func(*Frame)) (held bool)
	// Flush gives the frames kept back, as garbled, to the emit of the last
	// Feed.
	Flush()
	// Reset forgets a partial frame, as after a lost connection. What was
	// learned of the gauge's habits stays.
	Reset()
	// Partial returns how many bytes of an unfinished frame are held.
	Partial() int
}

// A KeyError is a wrong value of one key of a description.
type KeyError struct {
	Key string // its path below the table of the description, "units.08"
	Err error  // what is wrong with it
}

func (e *KeyError) Error() string { return e.Key + ": " + e.Err.Error() }

// Unwrap returns what is wrong.
func (e *KeyError) Unwrap() error { return e.Err }

// Want is the error of a key of a description whose value is not ok, and nil
// where it is. want says what would be, as "1 to 247".
func Want(ok bool, key string, value any, want string) error {
	if ok {
		return nil
	}
	form := "%s %v: want %s"
	if _, text := value.(string); text {
		form = "%s %q: want %s"
	}
	return fmt.Errorf(form, key, value, want)
}

// WantOneOf is Want for a value that may be empty, and is else one of the words
// of a list like "any, point or comma".
func WantOneOf(key, value, list string) error {
	words := strings.Split(strings.Replace(list, " or ", ", ", 1), ", ")
	return Want(value == "" || slices.Contains(words, value), key, value, list)
}
