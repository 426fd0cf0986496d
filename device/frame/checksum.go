package frame

import (
	"encoding/binary"
	"math/bits"
)

// ChecksumList names the checksums that a profile may give, for a message.
const ChecksumList = "sum8, sum16, xor8, lrc, crc8 or crc16-modbus, -ccitt, -xmodem, -kermit, -arc, -aug, -genibus"

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
// starts at FFFF (CRC-16/IBM-3740), and the others have their own names. Sum, xor and lrc are of all bytes; lrc is the
// two's complement of the sum, sum16 the sum in two bytes.
// Source: catalogue of parametrised CRC algorithms; Modbus over Serial Line
// V1.02, 6.2.1 (LRC).
var checksums = map[string]Checksum{
	"sum8":          fold(1, func(sum uint16, c byte) uint16 { return sum + uint16(c) }),
	"sum16":         fold(2, func(sum uint16, c byte) uint16 { return sum + uint16(c) }),
	"xor8":          fold(1, func(sum uint16, c byte) uint16 { return sum ^ uint16(c) }),
	"lrc":           fold(1, func(sum uint16, c byte) uint16 { return sum - uint16(c) }),
	"crc8":          crc(8, 0x07, 0, highFirst, 0),
	"crc16-modbus":  crc(16, 0x8005, 0xFFFF, lowFirst, 0),
	"crc16-ccitt":   crc(16, 0x1021, 0xFFFF, highFirst, 0),
	"crc16-xmodem":  crc(16, 0x1021, 0, highFirst, 0),
	"crc16-kermit":  crc(16, 0x1021, 0, lowFirst, 0),
	"crc16-arc":     crc(16, 0x8005, 0, lowFirst, 0),
	"crc16-aug":     crc(16, 0x1021, 0x1D0F, highFirst, 0),
	"crc16-genibus": crc(16, 0x1021, 0xFFFF, highFirst, 0xFFFF),
}

// fold returns what an operation makes of all bytes, one after the other.
func fold(size int, next func(sum uint16, c byte) uint16) Checksum {
	return Checksum{size, func(b []byte) uint16 {
		var sum uint16
		for _, c := range b {
			sum = next(sum, c)
		}
		return sum << (16 - 8*size) >> (16 - 8*size)
	}}
}

// Which bit of a byte a CRC takes first.
const (
	highFirst = false
	lowFirst  = true
)

// crc returns a CRC of 8 or 16 bits, worked in the upper bits of 16. One that
// takes the low bits first is that of the bytes in mirror writing, itself in
// mirror writing; its start is given unmirrored.
func crc(width int, poly, start uint16, mirrored bool, xor uint16) Checksum {
	up := 16 - width
	poly, start = poly<<up, start<<up
	return Checksum{width / 8, func(b []byte) uint16 {
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
			return bits.Reverse16(sum) ^ xor
		}
		return sum>>up ^ xor
	}}
}
