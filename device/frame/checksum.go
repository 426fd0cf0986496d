package frame

import (
	"encoding/binary"
	"math/bits"
)

// A Checksum is one way to protect a binary frame.
type Checksum struct {
	Size int                   // bytes in the frame: 1 or 2
	Of   func(b []byte) uint16 // the checksum of the bytes
}

// ChecksumNamed returns the checksum that a profile calls name.
func ChecksumNamed(name string) (Checksum, bool) {
	c, ok := checksums[name]
	return c, ok
}

// Append returns b with its checksum behind it, low byte first.
func (c Checksum) Append(b []byte) []byte {
	return binary.LittleEndian.AppendUint16(b, c.Of(b))[:len(b)+c.Size]
}

// Right reports whether the checksum at frame[at] is that of frame[from:at].
// Of one with two bytes the low byte is first, or with big the high byte.
func (c Checksum) Right(frame []byte, from, at int, big bool) bool {
	got := uint16(frame[at])
	switch {
	case c.Size == 1:
	case big:
		got = binary.BigEndian.Uint16(frame[at:])
	default:
		got = binary.LittleEndian.Uint16(frame[at:])
	}
	return got == c.Of(frame[from:at])
}

// checksums are the ways a profile can name:
//
//	name           polynomial  start  bits first  final xor
//	crc8           07          00     high        00
//	crc16-modbus   8005        FFFF   low         0000
//	crc16-ccitt    1021        FFFF   high        0000
//	crc16-xmodem   1021        0000   high        0000
//	crc16-kermit   1021        0000   low         0000
//	crc16-arc      8005        0000   low         0000
//	crc16-aug      1021        1D0F   high        0000
//	crc16-genibus  1021        FFFF   high        FFFF
//
// "crc16-ccitt" has several meanings in the trade; here it is the one that
// starts at FFFF (CRC-16/IBM-3740), and the others have their own names. An 8-bit
// CRC is the upper half of one whose polynomial stands there. Sum, xor and lrc
// are of all bytes; lrc is the two's complement of the sum.
// Source: catalogue of parametrised CRC algorithms; Modbus over Serial Line
// V1.02, 6.2.1 (LRC).
var checksums = map[string]Checksum{
	"sum8":          {1, fold(func(sum, c byte) byte { return sum + c })},
	"xor8":          {1, fold(func(sum, c byte) byte { return sum ^ c })},
	"lrc":           {1, fold(func(sum, c byte) byte { return sum - c })},
	"crc8":          {1, func(b []byte) uint16 { return crc(0x0700, 0, highFirst)(b) >> 8 }},
	"crc16-modbus":  {2, crc(0x8005, 0xFFFF, lowFirst)},
	"crc16-ccitt":   {2, crc(0x1021, 0xFFFF, highFirst)},
	"crc16-xmodem":  {2, crc(0x1021, 0, highFirst)},
	"crc16-kermit":  {2, crc(0x1021, 0, lowFirst)},
	"crc16-arc":     {2, crc(0x8005, 0, lowFirst)},
	"crc16-aug":     {2, crc(0x1021, 0x1D0F, highFirst)},
	"crc16-genibus": {2, func(b []byte) uint16 { return ^crc(0x1021, 0xFFFF, highFirst)(b) }},
}

// fold returns what an operation makes of all bytes, one after the other.
func fold(next func(sum, c byte) byte) func(b []byte) uint16 {
	return func(b []byte) uint16 {
		var sum byte
		for _, c := range b {
			sum = next(sum, c)
		}
		return uint16(sum)
	}
}

// Which bit of a byte a CRC takes first.
const (
	highFirst = false
	lowFirst  = true
)

// crc returns a 16-bit CRC. One that takes the low bits first is that of the
// bytes in mirror writing, itself in mirror writing; a start of other than all
// zeros or all ones would have to be mirrored too.
func crc(poly, start uint16, mirrored bool) func(b []byte) uint16 {
	return func(b []byte) uint16 {
		sum := start
		for _, c := range b {
			if mirrored {
				c = bits.Reverse8(c)
			}
			sum ^= uint16(c) << 8
			for range 8 {
				carry := sum >> 15
				sum = sum<<1 ^ carry*poly
			}
		}
		if mirrored {
			return bits.Reverse16(sum)
		}
		return sum
	}
}
