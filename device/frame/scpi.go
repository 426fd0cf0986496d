package frame

import (
	"bytes"
	"errors"
	"math"
)

// A SCPI describes an instrument that answers a query with a number in the
// forms NR1, NR2 or NR3.
// Source: IEEE 488.2, 8.7.2 to 8.7.4. Forms that manuals print and the
// standard allows only a controller to send (".5", "5.", "1E3") are read too.
type SCPI struct {
	Query string `toml:"query"` // without its line end, like "READ?"
}

// mostAnswer bounds an answer in bytes: a number takes some twenty.
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
	d := newTextDecoder(mostAnswer, endAny, s.read)
	d.habits.free = true // NR2 and NR3 may drop zeros
	return d, nil
}

// read decodes one answer.
func (s *SCPI) read(line []byte) (Frame, number) {
	n, end := scanNumber(line, 0, true, false)
	switch {
	case bytes.IndexByte(line, ',') >= 0:
		return Frame{Bad: "more than one number in the answer"}, number{}
	case end != len(line) || n.spaced:
		return Frame{Bad: "not a number of IEEE 488.2"}, number{}
	}
	return Frame{Value: n.value}, n
}

// absent marks a sound frame whose number stands for no value, whether it was
// sent with an exponent or without.
func (f *Frame) absent() {
	switch {
	case f.Bad != "":
	case f.Value == scpiNaN:
		f.Bad, f.Refused = "not a number (9.91E37)", true
	case math.Abs(f.Value) == scpiInfinity:
		f.Bad = "over range"
		f.Flags |= FlagOverRange
	}
}
