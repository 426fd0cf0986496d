package device

import "math/bits"

// A checksum is one way to protect a binary frame.
type checksum struct {
	size int // bytes in the frame
	of   func(b []byte) uint16
}

// checksums are the ways a profile can name. "crc16-ccitt" has several
// meanings in the trade; here it is the one that starts at FFFF
// (CRC-16/IBM-3740), and the others have their own names.
var checksums = map[string]checksum{
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
