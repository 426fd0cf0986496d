package identify_test

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"math/bits"
	"math/rand"
)

// asked returns what the Modbus device answers when it is asked for some of its
// registers alone.
func (s invented) asked(question []byte) []byte {
	first, n := 2*(int(question[2])<<8|int(question[3])), 2*int(question[5])
	var b []byte
	for _, v := range s.registers {
		if first+n <= len(v) {
			b = append(b, crcSeal(16, 0x8005, 0xFFFF, true, 0, false)(joined(question[:2], []byte{byte(n)}, v[first:first+n]))...)
		}
	}
	return b
}

// Checksums, bit by bit.

func crcBits(width, poly, start uint, reflect bool, xor uint, b []byte) uint {
	sum := start
	for _, c := range b {
		if reflect {
			c = bits.Reverse8(c)
		}
		for k := 7; k >= 0; k-- {
			top := sum>>(width-1)&1 ^ uint(c)>>k&1
			sum = sum << 1 & (1<<width - 1)
			if top == 1 {
				sum ^= poly
			}
		}
	}
	if reflect {
		sum = uint(bits.Reverse32(uint32(sum)) >> (32 - width))
	}
	return sum ^ xor
}

type seal func(b []byte) []byte

func crcSeal(width, poly, start uint, reflect bool, xor uint, high bool) seal {
	return func(b []byte) []byte {
		s := crcBits(width, poly, start, reflect, xor, b)
		switch {
		case width == 8:
			return append(b, byte(s))
		case high:
			return append(b, byte(s>>8), byte(s))
		}
		return append(b, byte(s), byte(s>>8))
	}
}

func sumSeal(from int) seal {
	return func(b []byte) []byte {
		var s byte
		for _, c := range b[from:] {
			s += c
		}
		return append(b, s)
	}
}

func sum16Seal(high bool) seal {
	return func(b []byte) []byte {
		var s uint16
		for _, c := range b {
			s += uint16(c)
		}
		if high {
			return append(b, byte(s>>8), byte(s))
		}
		return append(b, byte(s), byte(s>>8))
	}
}

func xorSeal(from int) seal {
	return func(b []byte) []byte {
		var s byte
		for _, c := range b[from:] {
			s ^= c
		}
		return append(b, s)
	}
}

func lrcSeal(b []byte) []byte {
	var s byte
	for _, c := range b {
		s -= c
	}
	return append(b, s)
}

// Values in bytes.

func bigInt(size int) func(c int) []byte {
	return func(c int) []byte { return binary.BigEndian.AppendUint64(nil, uint64(int64(c)))[8-size:] }
}

func littleInt(size int) func(c int) []byte {
	return func(c int) []byte { return binary.LittleEndian.AppendUint64(nil, uint64(int64(c)))[:size] }
}

func bcdBytes(size int) func(c int) []byte {
	return func(c int) []byte {
		b, _ := hex.DecodeString(fmt.Sprintf("%0*d", 2*size, max(c, -c)))
		return b
	}
}

func bcdSwapped(size int) func(c int) []byte { // nibbles turned: the low digit first in each byte
	return func(c int) []byte {
		b := bcdBytes(size)(c)
		for i := range b {
			b[i] = b[i]<<4 | b[i]>>4
		}
		return b
	}
}

func bcdReversed(size int) func(c int) []byte { // lowest digit first of all
	return func(c int) []byte {
		b := bcdSwapped(size)(c)
		for i, j := 0, len(b)-1; i < j; i, j = i+1, j-1 {
			b[i], b[j] = b[j], b[i]
		}
		return b
	}
}

func signMagnitude(size int, little bool) func(c int) []byte {
	return func(c int) []byte {
		b := bigInt(size)(max(c, -c))
		if c < 0 {
			b[0] |= 0x80
		}
		if little {
			for i, j := 0, len(b)-1; i < j; i, j = i+1, j-1 {
				b[i], b[j] = b[j], b[i]
			}
		}
		return b
	}
}

func float4(order string) func(c int) []byte {
	return func(c int) []byte {
		b := binary.BigEndian.AppendUint32(nil, math.Float32bits(float32(float64(c)/1000)))
		return ordered(b, order)
	}
}

func float8(order string) func(c int) []byte {
	return func(c int) []byte {
		return ordered(binary.BigEndian.AppendUint64(nil, math.Float64bits(float64(c)/1000)), order)
	}
}

// ordered turns big-endian bytes into another order, named as the trade does
// for four bytes.
func ordered(b []byte, order string) []byte {
	out := make([]byte, len(b))
	n := len(b)
	for i := range b {
		switch order {
		case "ABCD":
			out[i] = b[i]
		case "DCBA":
			out[i] = b[n-1-i]
		case "CDAB":
			out[i] = b[n-2-i/2*2+i%2]
		case "BADC":
			out[i] = b[i^1]
		}
	}
	return out
}

func signOf(c int) byte {
	if c < 0 {
		return 1
	}
	return 0
}

func joined(parts ...[]byte) []byte {
	var b []byte
	for _, p := range parts {
		b = append(b, p...)
	}
	return b
}

type packedForm struct {
	name    string
	frame   func(i, c int, r *rand.Rand) []byte
	motions []motion
}

func packedForms() []packedForm {
	type rnd = *rand.Rand
	modbusCRC := crcSeal(16, 0x8005, 0xFFFF, true, 0, false)
	crc8 := crcSeal(8, 0x07, 0, false, 0, false)
	plain := func(name string, header []byte, value func(int) []byte, s seal, motions ...motion) packedForm {
		return packedForm{name, func(_, c int, _ rnd) []byte { return s(joined(header, value(c))) }, motions}
	}
	counted := func(name string, header []byte, value func(int) []byte, s seal, motions ...motion) packedForm {
		return packedForm{name, func(i, c int, _ rnd) []byte { return s(joined(header, value(c), []byte{byte(i)})) }, motions}
	}
	signed := func(name string, header []byte, value func(int) []byte, s seal, motions ...motion) packedForm {
		return packedForm{name, func(_, c int, _ rnd) []byte { return s(joined(header, []byte{signOf(c)}, value(c))) }, motions}
	}
	aa, aa55, a5 := []byte{0xAA}, []byte{0xAA, 0x55}, []byte{0xA5}
	return []packedForm{
		plain("int16 big, sum", aa, bigInt(2), sumSeal(0), swing, wide, rock),
		plain("int16 little, sum", aa, littleInt(2), sumSeal(0), swing, wide),
		plain("int24 big, crc", aa, bigInt(3), modbusCRC, millions, swing, wide),
		plain("int24 little, crc", aa, littleInt(3), modbusCRC, millions, swing),
		plain("int32 little, crc", aa55, littleInt(4), modbusCRC, millions, swing, wide),
		plain("int32 big, ccitt", a5, bigInt(4), crcSeal(16, 0x1021, 0xFFFF, false, 0, true), millions, swing),
		counted("int32 little, counter, crc", aa55, littleInt(4), modbusCRC, millions, swing, wide),
		counted("int16 big, counter, xor", aa55, bigInt(2), xorSeal(2), swing, wide),
		plain("int24 sign-magnitude, sum", aa, signMagnitude(3, false), sumSeal(0), swing, millions),
		plain("int16 sign-magnitude little, sum", aa, signMagnitude(2, true), sumSeal(0), swing, wide),
		plain("int32 sign-magnitude, crc", aa55, signMagnitude(4, false), modbusCRC, swing, millions),
		signed("BCD, sign byte, sum", aa, bcdBytes(3), sumSeal(0), swing, wide),
		signed("BCD, sign byte, xor", []byte{0x02}, bcdBytes(3), xorSeal(0), swing, wide),
		signed("BCD nibbles turned, sum", aa, bcdSwapped(3), sumSeal(0), swing, wide),
		signed("BCD low digit first, sum", aa, bcdReversed(3), sumSeal(0), swing, wide),
		plain("BCD, crc", []byte{0x7E}, bcdBytes(4), modbusCRC, rock, rockHigh),
		plain("int16, sum16 high first", aa55, bigInt(2), sum16Seal(true), swing, wide),
		plain("int32, sum16 low first", aa55, littleInt(4), sum16Seal(false), swing, millions),
		plain("int16, crc8 07", aa, bigInt(2), crc8, swing),
		plain("int16, crc8 31 reflected", aa, bigInt(2), crcSeal(8, 0x31, 0, true, 0, false), swing, wide),
		plain("int16, crc8 31 from FF", aa, bigInt(2), crcSeal(8, 0x31, 0xFF, false, 0, false), swing, wide),
		plain("int16, crc8 1D", aa, bigInt(2), crcSeal(8, 0x1D, 0xFF, false, 0xFF, false), swing),
		plain("int16, crc8 07 from FF", aa, bigInt(2), crcSeal(8, 0x07, 0xFF, false, 0, false), wide),
		plain("float little, crc", a5, float4("DCBA"), modbusCRC, swing, rock, wide),
		plain("float big, crc", a5, float4("ABCD"), modbusCRC, swing, rock),
		plain("double little, crc", a5, float8("DCBA"), modbusCRC, swing),
		packedForm{"STX, int16, lrc, ETX", func(_, c int, _ rnd) []byte {
			return append(joined([]byte{2}, lrcSeal(bigInt(2)(c))), 3)
		}, []motion{swing, wide}},
		packedForm{"state byte with bits", func(i, c int, r rnd) []byte {
			return sumSeal(0)(joined(aa55, []byte{0x10 | byte(r.Intn(2))<<1}, littleInt(3)(c)))
		}, []motion{swing, millions}},
		packedForm{"temperature beside", func(i, c int, r rnd) []byte {
			return modbusCRC(joined(aa55, bigInt(4)(c), bigInt(2)(214+int(1.4*math.Sin(float64(i)/29)))))
		}, []motion{swing, millions}},
		packedForm{"no checksum", func(i, c int, r rnd) []byte { return joined(aa55, bigInt(2)(c), []byte{0x0D, 0x0A}) }, []motion{swing}},
	}
}

func packedStreams(r *rand.Rand, n int, only *motion) []invented {
	var list []invented
	for _, f := range packedForms() {
		for _, m := range orOnly(f.motions, only) {
			s := invented{name: "packed " + f.name + ", " + m.name, binary: true}
			for i, c := range m.counts(r, n) {
				s.values = append(s.values, float64(c))
				s.bytes = append(s.bytes, f.frame(i, c, r)...)
			}
			list = append(list, s)
		}
	}
	for _, f := range []struct {
		name  string
		value func(c int) []byte
	}{
		{"float ABCD", float4("ABCD")}, {"float CDAB", float4("CDAB")}, {"float BADC", float4("BADC")}, {"float DCBA", float4("DCBA")},
		{"double ABCD", float8("ABCD")}, {"double DCBA", float8("DCBA")}, {"double CDAB", float8("CDAB")},
		{"int16", bigInt(2)}, {"int32", bigInt(4)}, {"int64", bigInt(8)},
		{"int32 CDAB", func(c int) []byte { return ordered(bigInt(4)(c), "CDAB") }},
		{"int16 beside a constant", func(c int) []byte { return joined([]byte{0, 0x80}, bigInt(2)(c)) }},
		{"int16 before a constant", func(c int) []byte { return joined(bigInt(2)(c), []byte{0, 0x80}) }},
		{"int32 of 0.1 µm", func(c int) []byte { return bigInt(4)(c * 37) }},
	} {
		for _, m := range orOnly([]motion{swing, rock}, only) {
			s := invented{name: "modbus " + f.name + ", " + m.name, binary: true}
			for _, c := range m.counts(r, n) {
				v := f.value(c)
				if f.name == "int32 of 0.1 µm" {
					c *= 37
				}
				s.values, s.registers = append(s.values, float64(c)), append(s.registers, v)
				s.bytes = append(s.bytes, crcSeal(16, 0x8005, 0xFFFF, true, 0, false)(joined([]byte{17, 3, byte(len(v))}, v))...)
			}
			list = append(list, s)
		}
	}
	return list
}
