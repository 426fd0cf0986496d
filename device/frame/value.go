package frame

import (
	"encoding/binary"
	"encoding/hex"
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
