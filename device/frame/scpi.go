package frame

import (
	"bytes"
	"errors"
	"fmt"
	"math"
)

// A SCPI describes an instrument that answers a query with numbers in the
// forms NR1, NR2 or NR3.
// Source: IEEE 488.2, 8.7.2 to 8.7.4. Forms that manuals print and the
// standard allows only a controller to send (".5", "5.", "1E3") are read too.
type SCPI struct {
	Query string `toml:"query"`          // without its line end, like "READ?"
	Item  int    `toml:"item,omitempty"` // which number of a comma list, from 1; 0: the answer is one number
}

// mostAnswer bounds an answer in bytes: a list of some sixty numbers.
const mostAnswer = 1024

// The numbers that stand for no value.
// Source: SCPI-99, volume 1, 7.2.1.4 and 7.2.1.5.
const (
	scpiNaN      = 9.91e37
	scpiInfinity = 9.9e37
)

// NewDecoder checks the description and returns a decoder for it.
func (s *SCPI) NewDecoder() (Decoder, error) {
	if s.Query == "" {
		return nil, errors.New("query missing, want what to send, like READ?")
	}
	if s.Item < 0 {
		return nil, fmt.Errorf("item %d: want 1 or more", s.Item)
	}
	d := newTextDecoder(mostAnswer, endAny, s.read)
	d.habits.free = true // NR2 and NR3 may drop zeros
	return d, nil
}

// read decodes one answer.
func (s *SCPI) read(line []byte) (Frame, number) {
	var f Frame
	var n number
	count := 0
	for more := true; more; {
		var text []byte
		text, line, more = bytes.Cut(line, []byte(","))
		got, end := scanNumber(text, 0, true, false)
		if end != len(text) || got.spaced {
			return Frame{Bad: "not a number of IEEE 488.2"}, number{}
		}
		if count++; count == max(s.Item, 1) {
			f.Value, n = got.value, got
		}
	}
	switch {
	case s.Item == 0 && count > 1:
		f.Bad = "more than one number in the answer"
	case count < s.Item:
		f.Bad = "too few numbers in the answer"
	case f.Value == scpiNaN:
		f.Bad, f.Refused = "not a number (9.91E37)", true
	case math.Abs(f.Value) == scpiInfinity:
		f.Bad, f.Flags = "over range", FlagOverRange
	}
	return f, n
}
