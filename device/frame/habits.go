package frame

import (
	"bytes"
	"math"
)

// habits are what a text gauge has always done so far. A line that breaks one
// was cut on the way or lost a byte: gauges print a fixed form, and "0.12"
// after a run of "0.123" is not a new value but a lost digit.
//
//	0.120  0.125  0.131  0.13   a digit is lost
//	9.990  9.998  10.00         the point moved: another range of the gauge
//	 0.12   0.13   12.13  0.13  padded with spaces, and one is lost
//
// A habit that three lines in a row agree to break was none: it is learned
// anew, and the lines that were doubted are believed. What no habit can show:
// a lost minus sign, a lost leading digit of an unpadded number, a digit turned
// into another digit.
type habits struct {
	free bool // decimals come and go: the gauge drops trailing zeros

	unit     string
	seen     int     // lines
	last     float64 // value
	form             // of the last
	trailing bool    // some line ended in 0 after the point, so zeros are not dropped
	plus     bool    // a plus sign is sent, so a sign is never missing
	padded   bool    // leading zeros: the number of digits is fixed
	spaced   bool    // padded with spaces: the length is fixed
}

// A form is that of a line.
type form struct{ decimals, digits, length int }

// How many lines make a habit.
const (
	// rangeStep is how far a value goes on from the last, as a share of it, where
	// the display has no room for a decimal any more: a wrench of ten readings a
	// second does not rise by more between two of them near its top.
	rangeStep = 0.2
	// habitProven is enough once a trailing zero proved that zeros are kept:
	// the form of a display does not depend on what it shows.
	habitProven = 3
	// habitUnproven is enough without: of a gauge that drops no zero one line
	// in ten ends in 0, so that many without one come by chance in 3 of 100
	// streams (0.9^32), and the form they share is no chance.
	habitUnproven = 32
	// habitChanged lines alike that break a habit are a new one: a fault on
	// the line seldom strikes three times in the same way.
	habitChanged = 3
)

// decide emits a line that is as always. One that breaks a habit is kept back
// until the lines after it show whether the habit changed.
func (d *textDecoder) decide(f *Frame, n *number, length int, indented bool) {
	h, why, is := &d.habits, "", form{n.decimals, n.digits, length}
	if !n.exponent {
		if f.Unit != h.unit && f.Unit != "" || h.seen == 0 {
			h.start(f.Unit)
		}
		why = h.breach(n, f.Unit, length)
	}
	if why == "" || is != d.broken {
		d.settle(false)
	}
	if why != "" && len(d.kept) < habitChanged-1 {
		own := *f
		own.Bad, own.Raw, d.held, d.broken = why, bytes.Clone(f.Raw), true, is
		d.kept = append(d.kept, own)
		return
	}
	if why != "" {
		d.settle(true)
		h.start(f.Unit)
	}
	if !n.exponent {
		h.learn(n, length, indented)
	}
	d.emit(f)
}

func (h *habits) breach(n *number, unit string, length int) string {
	switch {
	case h.seen < habitProven:
		return ""
	case unit != h.unit:
		return "unit missing"
	case h.plus && !n.plus && !n.minus && n.value != 0:
		return "sign missing"
	case h.padded && n.digits != h.digits, h.spaced && length != h.length:
		return "line is cut or has too many characters"
	case h.free, n.decimals == h.decimals, n.decimals > 0 && n.digits == h.digits: // the point moved: another range
		return ""
	case n.digits == h.digits && h.decimals > 0 && math.Abs(n.value-h.last) <= rangeStep*math.Abs(h.last):
		return "" // so it did beyond the last digit: 99.9, 100
	case h.trailing || h.seen >= habitUnproven:
		return "digits after the decimal mark missing or too many"
	}
	return ""
}

func (h *habits) learn(n *number, length int, indented bool) {
	if h.seen > 0 && n.decimals != h.decimals && n.digits != h.digits {
		h.seen = 0
		h.trailing = false
	}
	// Of the first line a lost head may leave "034".
	h.padded = h.seen > 0 && (h.padded || n.padded) && n.digits == h.digits
	h.spaced = (indented || n.spaced || h.spaced) && (h.seen == 0 || length == h.length)
	h.plus = h.plus || n.plus
	h.trailing = h.trailing || n.trailing
	h.form, h.last = form{n.decimals, n.digits, length}, n.value
	h.seen++
}

func (h *habits) start(unit string) { *h = habits{free: h.free, unit: unit} }
