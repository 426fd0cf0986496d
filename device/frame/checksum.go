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
	sum := c.Of(b)
	if c.Size == 1 {
		return append(b, byte(sum))
	}
	return binary.LittleEndian.AppendUint16(b, sum)
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
// starts at FFFF (CRC-16/IBM-3740), and the others have their own names. A001
// is 8005 with its bits in reverse. Sum, xor and lrc are of all bytes; lrc is
// the two's complement of the sum.
// Source: catalogue of parametrised CRC algorithms; Modbus over Serial Line
// V1.02, 6.2.1 (LRC).
var checksums = map[string]Checksum{
	"sum8":          {1, sum8},
	"xor8":          {1, xor8},
	"lrc":           {1, func(b []byte) uint16 { return uint16(uint8(-int8(sum8(b)))) }},
	"crc8":          {1, crc8},
	"crc16-modbus":  {2, func(b []byte) uint16 { return crcReflected(b, 0xA001, 0xFFFF) }},
	"crc16-ccitt":   {2, func(b []byte) uint16 { return crcForward(b, 0x1021, 0xFFFF) }},
	"crc16-xmodem":  {2, func(b []byte) uint16 { return crcForward(b, 0x1021, 0) }},
	"crc16-kermit":  {2, func(b []byte) uint16 { return crcReflected(b, bits.Reverse16(0x1021), 0) }},
	"crc16-arc":     {2, func(b []byte) uint16 { return crcReflected(b, 0xA001, 0) }},
	"crc16-aug":     {2, func(b []byte) uint16 { return crcForward(b, 0x1021, 0x1D0F) }},
	"crc16-genibus": {2, func(b []byte) uint16 { return ^crcForward(b, 0x1021, 0xFFFF) }},
}

// sum8 is the sum of all bytes modulo 256.
func sum8(b []byte) uint16 {
	var s uint8
	for _, c := range b {
		s += c
	}
	return uint16(s)
}

// xor8 is the exclusive or of all bytes.
func xor8(b []byte) uint16 {
	var s uint8
	for _, c := range b {
		s ^= c
	}
	return uint16(s)
}

// crc8 has polynomial 07, start 0, most significant bit first (CRC-8/SMBUS).
func crc8(b []byte) uint16 {
	var crc uint8
	for _, c := range b {
		crc ^= c
		for range 8 {
			if crc&0x80 != 0 {
				crc = crc<<1 ^ 0x07
			} else {
				crc <<= 1
			}
		}
	}
	return uint16(crc)
}

// crcForward is a 16-bit CRC, most significant bit first.
func crcForward(b []byte, poly, crc uint16) uint16 {
	for _, c := range b {
		crc ^= uint16(c) << 8
		for range 8 {
			if crc&0x8000 != 0 {
				crc = crc<<1 ^ poly
			} else {
				crc <<= 1
			}
		}
	}
	return crc
}

// crcReflected is a 16-bit CRC, least significant bit first; poly is reversed.
func crcReflected(b []byte, poly, crc uint16) uint16 {
	for _, c := range b {
		crc ^= uint16(c)
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ poly
			} else {
				crc >>= 1
			}
		}
	}
	return crc
}
