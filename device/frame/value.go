package frame

import (
	"cmp"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"strconv"
)

// Number reads up to eight bytes of a frame as "int", "uint", "float" (of four or
// eight bytes), "bcd" or "bcd low-first", whose bytes have the lower digit in
// their upper half. It is false where a digit is no decimal one. order is that of
// the bytes:
//
//	""  "big"  "high-first"  "ABCD"    most significant first
//	"little"  "DCBA"                   least significant first
//	"low-first"  "CDAB"                the low register first, in it the high byte
//	"BADC"                             the high register first, in it the low byte
func Number(kind, order string, b []byte) (float64, bool) {
	var room [8]byte
	n := len(b)
	v := room[8-n:]
	for i := range v {
		at := i
		switch order {
		case "little", "DCBA":
			at = n - 1 - i
		case "low-first", "CDAB":
			at = n - 2 - i&^1 + i&1
		case "BADC":
			at = i ^ 1
		}
		v[i] = b[at]
	}
	u := binary.BigEndian.Uint64(room[:])
	switch {
	case kind == "bcd" || kind == "bcd low-first":
		for i, c := range v {
			if kind != "bcd" {
				v[i] = c<<4 | c>>4
			}
		}
		var digits [16]byte
		u, err := strconv.ParseUint(string(hex.AppendEncode(digits[:0], v)), 10, 64)
		return float64(u), err == nil
	case kind == "int": // the top bit of the value's own bytes is its sign
		shift := 64 - 8*n
		return float64(int64(u<<shift) >> shift), true
	case kind == "float" && n == 4:
		return shortFloat(uint32(u)), true
	case kind == "float":
		return math.Float64frombits(u), true
	}
	return float64(u), true
}

// shortFloat returns the shortest decimal value that a single-precision float
// stands for, so that 0.1 on the gauge is 0.1 here.
func shortFloat(bits uint32) float64 {
	text := strconv.FormatFloat(float64(math.Float32frombits(bits)), 'g', -1, 32)
	v, _ := strconv.ParseFloat(text, 64) // it was printed by FormatFloat, so it parses: NaN and Inf too
	return v
}

// A KeyedValue is one value of a typed line; its unit may be "".
type KeyedValue struct {
	Value float64
	Unit  string
}

// mostDecimals bounds the decimal places of a binary frame: a double carries
// 15 decimal digits for certain, so more places could not all be right.
const mostDecimals = 15

// A scaling turns the number in a frame into the value.
type scaling struct {
	divisor, factor, offset float64
	shown                   int // digits behind the point of a whole number, -1 where a factor hides them
}

// newScaling checks what a description says; a factor of 0 means 1. A power of ten
// is exact, and so is what 0.001 is one part of, so that 123 with three decimals, or
// scaled by 0.001, is the float64 nearest 0.123.
func newScaling(decimals int, factor, offset float64) (scaling, error) {
	err := cmp.Or(
		Want(decimals >= 0 && decimals <= mostDecimals, "decimals", decimals, fmt.Sprint("0 to ", mostDecimals)),
		Want(finite(factor), "scale", factor, "a finite number"),
		Want(finite(offset), "offset", offset, "a finite number"))
	s := scaling{math.Pow10(decimals), cmp.Or(factor, 1), offset, decimals}
	if s.factor != 1 {
		s.shown = -1
	}
	if parts := math.Round(1 / s.factor); 1/parts == s.factor {
		s.divisor, s.factor = s.divisor*parts, 1
	}
	return s, err
}

// value returns the value of a number.
func (s scaling) value(raw float64) float64 { return raw/s.divisor*s.factor + s.offset }

// finite is false for NaN and the infinities.
func finite(v float64) bool { return v-v == 0 }
