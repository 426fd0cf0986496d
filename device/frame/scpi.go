package frame

import (
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

// NewDecoder checks the description and returns a decoder for it: of text lines
// of one number, which may drop zeros.
func (s *SCPI) NewDecoder() (Decoder, error) {
	if s.Query == "" {
		return nil, errors.New("query missing, want what to send, like READ?")
	}
	return (&Text{Decimals: "free", Pattern: `(?P<value>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)`}).NewDecoder()
}

// absent marks a sound frame whose number stands for no value, in text whether it
// was sent with an exponent or without: 9.91E37 for none, 9.9E37 for infinity.
// Source: SCPI-99, volume 1, 7.2.1.4 and 7.2.1.5.
func (f *Frame) absent() {
	switch {
	case f.Bad != "":
	case math.IsNaN(f.Value):
		f.Bad, f.Refused = "not a number", true
	case f.Value == 9.91e37:
		f.Bad, f.Refused = "not a number (9.91E37)", true
	case math.Abs(f.Value) == 9.9e37, math.IsInf(f.Value, 0):
		f.Bad = "over range"
		f.Flags |= FlagOverRange
	}
}
