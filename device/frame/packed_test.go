package frame

import (
	"encoding/binary"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bcdFrame makes a frame of packedBCD.
func bcdFrame(state byte, digits ...byte) []byte {
	b := append([]byte{0xAA, state}, digits...)
	sum, _ := ChecksumNamed("sum8")
	return sum.Append(b)
}

// intFrame makes a frame of packedInt.
func intFrame(v int32, seq byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte{0xAA, 0x55}, uint32(v))
	return modbusCRC.Append(append(b, seq))
}

var (
	packedBCD = Packed{Length: 6, Header: "AA", At: 2, Size: 3, Type: "bcd", Decimals: 3, Checksum: "sum8",
		Sign: &Bits{At: 1, Mask: "01"}, Hold: &Bits{At: 1, Mask: "02"}, Battery: &Bits{At: 1, Mask: "04"},
		UnitBits: &Bits{At: 1, Mask: "08"}, Units: map[string]string{"00": "mm", "08": "in"}}
	packedInt = Packed{Length: 9, Header: "AA 55", At: 2, Size: 4, Type: "int", Order: "little", Decimals: 4,
		Checksum: "crc16-modbus", Seq: &Bits{At: 6}}
)

func packedDecoderOf(t testing.TB, p Packed) Decoder {
	t.Helper()
	d, err := p.NewDecoder()
	require.NoError(t, err)
	return d
}

func TestPackedBCD(t *testing.T) {
	tests := []struct {
		name  string
		in    []byte
		want  float64
		unit  string
		flags Flags
		bad   string
	}{
		{"plain", bcdFrame(0, 0x00, 0x01, 0x23), 0.123, "mm", 0, ""},
		{"negative inch", bcdFrame(0x09, 0x12, 0x34, 0x56), -123.456, "in", 0, ""},
		{"battery", bcdFrame(0x04, 0, 0, 1), 0.001, "mm", FlagLowBattery, ""},
		{"hold and battery", bcdFrame(0x06, 0, 0, 1), 0.001, "mm", FlagHold | FlagLowBattery, ""},
		{"digit A", bcdFrame(0, 0x00, 0x0A, 0x23), 0, "mm", 0, "digit is not a decimal one"},
		{"sum wrong", []byte{0xAA, 0, 0, 1, 0x23, 0xCF}, 0, "", 0, "bytes that are no sound frame"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := decodeAll(t, packedDecoderOf(t, packedBCD), tt.in)
			require.Len(t, got, 1)
			assert.Equal(t, tt.bad, got[0].Bad)
			assert.Equal(t, tt.in, got[0].Raw)
			if tt.bad == "" {
				assert.Equal(t, tt.want, got[0].Value)
				assert.Equal(t, tt.unit, got[0].Unit)
				assert.Equal(t, tt.flags, got[0].Flags)
			}
		})
	}
}

// Everything a frame may say, and the profile's own bits left as they were.
func TestPackedSaysAllItHolds(t *testing.T) {
	sign, over := &Bits{At: 1, Mask: "80"}, &Bits{At: 1}
	p := Packed{Length: 5, Header: "02", At: 2, Size: 2, Type: "uint", Decimals: 1, Sign: sign, Over: &Bits{At: 1, Mask: "40"},
		Seq: &Bits{At: 4, Mask: "0F"}}
	tests := []struct {
		name   string
		change func(*Packed)
		in     []byte
		want   Frame // without Raw
	}{
		{"plain", nil, []byte{2, 0x3F, 0x01, 0x00, 0xA7}, Frame{Value: 25.6, Decimals: 1, Seq: "\a"}},
		{"minus and over", nil, []byte{2, 0xC0, 0x01, 0x00, 0x0F}, Frame{Value: -25.6, Decimals: 1, Flags: FlagOverRange, Seq: "\x0f"}},
		{"scaled", func(p *Packed) { p.Scale = 2 }, []byte{2, 0, 0, 5, 0}, Frame{Value: 1, Decimals: -1, Seq: "\x00"}},
		{"float", func(p *Packed) {
			p.Type, p.Header, p.At, p.Size, p.Seq = "float", "01", 1, 4, nil
			p.Sign, p.Over = nil, nil
		},
			[]byte{1, 0x3F, 0x80, 0, 0}, Frame{Value: 0.1, Decimals: -1}},
		{"unit not known", func(p *Packed) { p.UnitBits, p.Units = &Bits{At: 4}, map[string]string{"1": "mm"}; p.Seq = nil },
			[]byte{2, 0, 0, 5, 2}, Frame{Value: 0.5, Decimals: 1, Bad: "unit code is not known"}},
		{"every bit without a mask", func(p *Packed) { p.Over, p.Sign = over, nil }, []byte{2, 0x01, 0, 5, 0},
			Frame{Value: 0.5, Decimals: 1, Flags: FlagOverRange, Seq: "\x00"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := p
			if tt.change != nil {
				tt.change(&p)
			}
			got := decodeAll(t, packedDecoderOf(t, p), tt.in)
			require.Len(t, got, 1)
			tt.want.Raw, tt.want.Binary = tt.in, true
			assert.Equal(t, tt.want, got[0])
		})
	}
	assert.Equal(t, Bits{At: 1, Mask: "80"}, *sign)
	assert.Equal(t, Bits{At: 1}, *over)
}

// The sign bit may lie in the first or the last byte of the value, where it is
// no part of it.
func TestPackedSignInsideTheValue(t *testing.T) {
	for _, tt := range []struct {
		at   int
		in   []byte
		want float64
	}{
		{1, []byte{2, 0x81, 0x02, 0}, -258},
		{2, []byte{2, 0x01, 0x82, 0}, -258},
		{3, []byte{2, 0x01, 0x82, 0x80}, -386},
	} {
		p := Packed{Length: 4, Header: "02", At: 1, Size: 2, Type: "uint", Sign: &Bits{At: tt.at, Mask: "80"}}
		got := decodeAll(t, packedDecoderOf(t, p), tt.in)
		require.Len(t, got, 1)
		assert.Equal(t, tt.want, got[0].Value, "sign in byte %d", tt.at)
	}
}

func TestPackedFindsFramesAgainAfterALoss(t *testing.T) {
	good := func(i int) []byte { return intFrame(int32(1230+i), byte(i)) }
	tests := []struct {
		name   string
		in     [][]byte
		values []float64
		bad    int
	}{
		{"joined", [][]byte{good(0), good(1), good(2)}, []float64{0.123, 0.1231, 0.1232}, 0},
		{"byte lost", [][]byte{good(0), good(1)[:8], good(2)}, []float64{0.123, 0.1232}, 1},
		{"head lost", [][]byte{good(0)[4:], good(1)}, []float64{0.1231}, 1},
		{"noise between", [][]byte{good(0), {1, 2, 3}, good(1)}, []float64{0.123, 0.1231}, 1},
		{"header in the noise", [][]byte{{0xAA, 0x55, 0xAA}, good(0), good(1)}, []float64{0.123, 0.1231}, 1},
		{"three frames with a wrong bit", [][]byte{flip(good(0), 3), flip(good(1), 5), flip(good(2), 8), good(3)}, []float64{0.1233}, 3},
		{"NULs", [][]byte{make([]byte, 90), good(0)}, []float64{0.123}, 10},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var stream []byte
			for _, b := range tt.in {
				stream = append(stream, b...)
			}
			for _, size := range []int{1, 7, len(stream)} {
				d := packedDecoderOf(t, packedInt)
				var values []float64
				bad := 0
				for in := stream; len(in) > 0; {
					n := min(size, len(in))
					for _, f := range decodeAll(t, d, in[:n]) {
						if f.Bad != "" {
							bad++
							continue
						}
						values = append(values, f.Value)
					}
					in = in[n:]
				}
				assert.Equal(t, tt.values, values, "in pieces of %d", size)
				assert.Equal(t, tt.bad, bad, "in pieces of %d", size)
				assert.Zero(t, d.Partial())
			}
		})
	}
}

// flip returns the frame with one bit of byte i turned.
func flip(b []byte, i int) []byte {
	c := append([]byte(nil), b...)
	c[i] ^= 0x10
	return c
}

// After Reset the next byte starts a frame, whatever was held before.
func TestPackedReset(t *testing.T) {
	d := packedDecoderOf(t, packedInt)
	assert.Empty(t, decodeAll(t, d, []byte{1, 2, 0xAA, 0x55}))
	assert.Equal(t, 4, d.Partial())
	d.Reset()
	assert.Zero(t, d.Partial())
	got := decodeAll(t, d, intFrame(5, 1))
	require.Len(t, got, 1)
	assert.Empty(t, got[0].Bad)
}

func TestPackedTypes(t *testing.T) {
	float := func(v float32) []byte {
		return binary.BigEndian.AppendUint32([]byte{0x02}, math.Float32bits(v))
	}
	double := binary.LittleEndian.AppendUint64([]byte{0x02}, math.Float64bits(-0.1735))
	tests := []struct {
		name string
		p    Packed
		in   []byte
		want float64
		bad  string
	}{
		{"float", Packed{Length: 5, Header: "02", At: 1, Size: 4, Type: "float"}, float(0.1), 0.1, ""},
		{"largest float", Packed{Length: 5, Header: "02", At: 1, Size: 4, Type: "float"}, float(math.MaxFloat32), 3.4028235e38, ""},
		{"eight byte int", Packed{Length: 9, Header: "02", At: 1, Size: 8, Type: "int"}, []byte{2, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFE}, -2, ""},
		{"bcd with a high digit A", Packed{Length: 2, Header: "02", At: 1, Size: 1, Type: "bcd"}, []byte{2, 0xA0}, 0, "digit is not a decimal one"},
		{"bcd of nines", Packed{Length: 2, Header: "02", At: 1, Size: 1, Type: "bcd"}, []byte{2, 0x99}, 99, ""},
		{"float infinite", Packed{Length: 5, Header: "02", At: 1, Size: 4, Type: "float"}, float(float32(math.Inf(1))), 0, "over range"},
		{"double low first", Packed{Length: 9, Header: "02", At: 1, Size: 8, Type: "float", Order: "little"}, double, -0.1735, ""},
		{"three byte int", Packed{Length: 4, Header: "02", At: 1, Size: 3, Type: "int", Decimals: 3}, []byte{2, 0xFF, 0xFF, 0x38}, -0.2, ""},
		{"uint", Packed{Length: 3, Header: "02", At: 1, Size: 2, Type: "uint"}, []byte{2, 0xFF, 0x38}, 65336, ""},
		{"sign and magnitude", Packed{Length: 3, Header: "02", At: 1, Size: 2, Type: "uint", Sign: &Bits{At: 1, Mask: "80"}}, []byte{2, 0x81, 0x00}, -256, ""},
		{"bcd low first", Packed{Length: 3, Header: "02", At: 1, Size: 2, Type: "bcd", Order: "little", Decimals: 2}, []byte{2, 0x34, 0x12}, 12.34, ""},
		{"scale", Packed{Length: 2, Header: "02", At: 1, Size: 1, Type: "int", Scale: -0.5}, []byte{2, 6}, -3, ""},
		{"trailer and lrc from 1", Packed{Length: 5, Header: "02", Trailer: "03", At: 1, Size: 2, Type: "int", Checksum: "lrc", From: 1}, []byte{2, 1, 2, 0xFD, 3}, 258, ""},
		{"crc high first", Packed{Length: 5, Header: "02", At: 1, Size: 2, Type: "int", Checksum: "crc16-xmodem", SumOrder: "big"}, forwardCRC([]byte{2, 1, 2}), 258, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := tt.p.NewDecoder()
			require.NoError(t, err)
			got := decodeAll(t, d, tt.in)
			require.Len(t, got, 1)
			assert.Equal(t, tt.bad, got[0].Bad)
			if tt.bad == "" {
				assert.Equal(t, tt.want, got[0].Value)
			}
		})
	}
}

func forwardCRC(b []byte) []byte {
	sum, _ := ChecksumNamed("crc16-xmodem")
	return binary.BigEndian.AppendUint16(b, uint16(sum.Of(b)))
}

func TestPackedBadDescriptions(t *testing.T) {
	ok := Packed{Length: 6, Header: "AA", At: 1, Size: 2, Type: "int"}
	for _, tt := range []struct {
		change func(*Packed)
		want   string
	}{
		{func(p *Packed) { p.Length = 1 }, "length 1: want 2 to 256 bytes"},
		{func(p *Packed) { p.Header = "AAA" }, `header "AAA": want pairs of hex digits`},
		{func(p *Packed) { p.Header = "" }, `header "": want some bytes, or a checksum, to find frames in the stream by`},
		{func(p *Packed) { p.Size = 6 }, "at 1: want size 6 to end before the checksum at 6"},
		{func(p *Packed) { p.Type = "float" }, "size 2: want 4 or 8 for type float"},
		{func(p *Packed) { p.Type = "real" }, `type "real": want int, uint, float or bcd`},
		{func(p *Packed) { p.Order = "middle" }, `order "middle": want big or little`},
		{func(p *Packed) { p.Sign = &Bits{At: 9} }, "sign.at 9: want 0 to 5"},
		{func(p *Packed) { p.Sign = &Bits{At: 1, Mask: "00"} }, `sign.mask "00": want hex 01 to FF`},
		{func(p *Packed) { p.Units = map[string]string{"0": "mm"} }, `unit_bits "": want the bits that tell the units`},
		{func(p *Packed) { p.UnitBits, p.Units = &Bits{}, map[string]string{"0": "ell"} }, `units.0 "ell": want a hex byte and a unit: ` + UnitList},
		{func(p *Packed) { p.Length = 257 }, "length 257: want 2 to 256 bytes"},
		{func(p *Packed) { p.Trailer = "0" }, `trailer "0": want pairs of hex digits`},
		{func(p *Packed) { p.Checksum = "crc99" }, `checksum "crc99": want ` + ChecksumList},
		{func(p *Packed) { p.Trailer, p.Checksum = "01 02 03 04", "crc8"; p.Header = "AA BB" }, "length 6: want room for header, checksum and trailer"},
		{func(p *Packed) { p.Header, p.Trailer, p.Checksum, p.From, p.At = "AA BB CC DD", "EE", "crc8", 4, 3 }, "checksum_from 4: want 0 to 3"},
		{func(p *Packed) { p.Header, p.Trailer, p.Checksum, p.At = "AA BB CC DD", "EE", "crc8", 3 }, "at 3: want size 2 to end before the checksum at 4"},
		{func(p *Packed) { p.SumOrder = "big" }, `checksum_order "big": want a checksum too`},
		{func(p *Packed) { p.Checksum, p.SumOrder = "sum8", "low" }, `checksum_order "low": want big or little`},
		{func(p *Packed) { p.Checksum, p.From = "sum8", -1 }, "checksum_from -1: want 0 to 4"},
		{func(p *Packed) { p.At = -1 }, "at -1: want size 2 to end before the checksum at 6"},
		{func(p *Packed) { p.Size = 0 }, "at 1: want size 0 to end before the checksum at 6"},
		{func(p *Packed) { p.At, p.Checksum = 4, "sum8" }, "at 4: want size 2 to end before the checksum at 5"},
		{func(p *Packed) { p.Length, p.Size, p.Type = 12, 9, "bcd" }, "size 9: want 1 to 8 for type bcd"},
		{func(p *Packed) { p.Decimals = 16 }, "decimals 16: want 0 to 15"},
		{func(p *Packed) { p.Scale = math.Inf(1) }, "scale +Inf: want a finite number"},
		{func(p *Packed) { p.Hold = &Bits{At: 6} }, "hold.at 6: want 0 to 5"},
		{func(p *Packed) { p.Over = &Bits{At: -1} }, "over.at -1: want 0 to 5"},
		{func(p *Packed) { p.Seq = &Bits{At: 1, Mask: "100"} }, `seq.mask "100": want hex 01 to FF`},
		{func(p *Packed) { p.From = 1 }, "checksum_from 1: want a checksum too"},
		{func(p *Packed) { p.UnitBits, p.Units = &Bits{}, map[string]string{"1FF": "mm"} }, `units.1FF "mm": want a hex byte and a unit: ` + UnitList},
		{func(p *Packed) { p.UnitBits, p.Units = &Bits{}, map[string]string{"zz": "mm"} }, `units.zz "mm": want a hex byte and a unit: ` + UnitList},
		{func(p *Packed) { p.Checksum, p.From = "sum8", 5 }, "checksum_from 5: want 0 to 4"},
	} {
		p := ok
		tt.change(&p)
		_, err := p.NewDecoder()
		assert.EqualError(t, err, tt.want)
	}
	for _, change := range []func(*Packed){
		func(p *Packed) { p.Length, p.Size = 256, 8 },
		func(p *Packed) { p.Length, p.At, p.Size, p.Header, p.Checksum = 2, 0, 1, "", "xor8" },
		func(p *Packed) { p.Decimals, p.Checksum = 15, "none" },
		func(p *Packed) { p.At = 4 },
		func(p *Packed) { p.Length, p.Header, p.At = 2, "AA BB", 0 }, // the header may fill the frame
		func(p *Packed) { p.UnitBits, p.Units = &Bits{}, map[string]string{"FF": "mm", "10": "in"} },
		func(p *Packed) { p.Checksum, p.From, p.SumOrder = "sum8", 4, "little" },
		func(p *Packed) { p.Seq = &Bits{At: 5, Mask: "01"} },
	} {
		p := ok
		change(&p)
		_, err := p.NewDecoder()
		assert.NoError(t, err, "%+v", p)
	}
}

// Digits of which the lower one comes first.
func TestPackedNibblesTurned(t *testing.T) {
	p := Packed{Length: 6, Header: "AA", At: 1, Size: 3, Type: "bcd", Order: "little", Nibbles: "low-first", Checksum: "sum16"}
	d, err := p.NewDecoder()
	require.NoError(t, err)
	got := decodeAll(t, d, sumOf(t, "sum16").Append([]byte{0xAA, 0x65, 0x43, 0x21}))
	require.Len(t, got, 1)
	assert.Equal(t, 123456.0, got[0].Value)
}

// A frame takes no memory once the stream has begun.
func TestBinaryFramesTakeNoMemory(t *testing.T) {
	p := Packed{Length: 5, Header: "AA", At: 1, Size: 3, Type: "int", Checksum: "sum8"}
	packed, err := p.NewDecoder()
	require.NoError(t, err)
	modbus, err := (&Modbus{Address: 1, Function: 3, Type: "int16"}).NewDecoder()
	require.NoError(t, err)
	frames := map[Decoder][]byte{packed: sumOf(t, "sum8").Append([]byte{0xAA, 1, 2, 3}), modbus: modbusCRC.Append([]byte{1, 3, 2, 0, 7})}
	for d, b := range frames {
		heard := 0
		hear := func(*Frame) { heard++ }
		d.Feed(time.Time{}, b, hear)
		assert.Zero(t, testing.AllocsPerRun(100, func() { d.Feed(time.Time{}, b, hear) }))
		assert.Equal(t, 102, heard)
	}
}
