package frame

import (
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// A description makes decoders.
type description interface{ NewDecoder() (Decoder, error) }

// bench are the decoders every property below must hold for.
var bench = []struct {
	name string
	form description
	most int // bytes of a partial frame
}{
	{"text", &Text{}, DefaultMaxLength},
	{"text-crlf", &Text{LineEnd: "crlf"}, DefaultMaxLength},
	{"columns", &Text{Pattern: `(?P<seq>[^,]*),(?P<value>[^,]*),(?P<unit>[^,]+)(?:,.*)?`}, DefaultMaxLength},
	{"pattern", &Text{Pattern: `(?P<sign>[+-]?)(?P<value>[\d.]+)(?P<unit>mm|in)?`}, DefaultMaxLength},
	{"scpi", &SCPI{Query: "READ?"}, DefaultMaxLength},
	{"modbus", &Modbus{Address: 1, Function: 4, Type: "float32"}, 9},
	{"packed-bcd", &Packed{Length: 6, Header: "AA", At: 2, Size: 3, Type: "bcd", Decimals: 3, Checksum: "sum8"}, 6},
	{"packed-float", &Packed{Length: 7, At: 0, Size: 4, Type: "float", Checksum: "crc16-ccitt", Trailer: "03"}, 7},
}

// streams are what gauges send, whole: every decoder is fed with each of them.
func streams() [][]byte {
	var list [][]byte
	for _, format := range []string{"%.3f\r\n", "%.3f\r", "%+.3f\n", "%+08.3f mm\r\n", "%9.3f\r\n", "CH1: %+.4fin\r\n",
		"CH1,OK: %+09.3fmm\r\n", "17,%.3f,mm\r\n", "12:30:05;%.3f\r\n", "%+.5E\n", "%v\r\n"} {
		list = append(list, swing(func(v float64) []byte { return fmt.Appendf(nil, format, v) }))
	}
	return append(list,
		swing(func(v float64) []byte { return bcdFrame(0, 0, byte(v*9)&7, byte(v*90)&7) }),
		swing(func(v float64) []byte { return intFrame(int32(v*1e4), byte(v*50)) }),
		swing(func(v float64) []byte {
			return append(forwardCRC(binary.LittleEndian.AppendUint32(nil, math.Float32bits(float32(v)))), 3)
		}),
		swing(func(v float64) []byte {
			return modbusCRC.Append(binary.BigEndian.AppendUint32([]byte{1, 4, 4}, math.Float32bits(float32(v))))
		}))
}

// swing joins the frames of sixty values that swing about zero.
func swing(of func(v float64) []byte) []byte {
	var b []byte
	for i := range 60 {
		b = append(b, of(0.3*math.Sin(float64(i)/11))...)
	}
	return b
}

// checkDecoder holds a decoder to what every decoder promises.
func checkDecoder(t *testing.T, p description, most int, b []byte, cut uint8) {
	t.Helper()
	whole, err := p.NewDecoder()
	require.NoError(t, err)
	pieces, err := p.NewDecoder()
	require.NoError(t, err)
	want := decodeAll(t, whole, b)
	var got []Frame
	size := int(cut)%17 + 1
	for rest := b; len(rest) > 0; {
		n := min(size, len(rest))
		got = append(got, decodeAll(t, pieces, rest[:n])...)
		rest = rest[n:]
		require.LessOrEqual(t, pieces.Partial(), 2*most, "bytes held")
	}
	require.Len(t, got, len(want), "the same frames in pieces of %d", size)
	total := 0
	for i, f := range want {
		total += len(f.Raw)
		if f.Bad == "" {
			require.False(t, math.IsNaN(f.Value), "a sound value is a number")
			require.False(t, math.IsInf(f.Value, 0), "a sound value is finite")
			require.Equal(t, f, got[i])
		}
		require.Equal(t, f.Bad, got[i].Bad)
		if f.Unit != "" {
			require.Contains(t, quantities, f.Unit)
		}
	}
	require.LessOrEqual(t, total, len(b), "no byte is in two frames")
}

func TestEveryDecoderOnEveryStream(t *testing.T) {
	for _, d := range bench {
		t.Run(d.name, func(t *testing.T) {
			for _, s := range streams() {
				for _, cut := range []uint8{0, 4, 16} {
					checkDecoder(t, d.form, d.most, s, cut)
				}
			}
		})
	}
}

// seeds adds the streams.
func seeds(f *testing.F) {
	for i, s := range streams() {
		f.Add(s[:min(len(s), 200)], uint8(i))
	}
	f.Add([]byte("0.10.2\r\n0.1-0.2\r\n- 0.5 mm\r\n\x000.1\r\nOL\r\n9.91E37\n"), uint8(3))
	f.Add([]byte{0xAA, 0x55, 0xAA, 0x55, 0, 0, 0, 0xAA}, uint8(1))
}

func fuzzDecoder(f *testing.F, name string) {
	seeds(f)
	f.Fuzz(func(t *testing.T, b []byte, cut uint8) {
		for _, d := range bench {
			if d.name == name {
				checkDecoder(t, d.form, d.most, b, cut)
			}
		}
	})
}

func FuzzText(f *testing.F)        { fuzzDecoder(f, "text") }
func FuzzTextCRLF(f *testing.F)    { fuzzDecoder(f, "text-crlf") }
func FuzzColumns(f *testing.F)     { fuzzDecoder(f, "columns") }
func FuzzPattern(f *testing.F)     { fuzzDecoder(f, "pattern") }
func FuzzSCPI(f *testing.F)        { fuzzDecoder(f, "scpi") }
func FuzzModbus(f *testing.F)      { fuzzDecoder(f, "modbus") }
func FuzzPackedBCD(f *testing.F)   { fuzzDecoder(f, "packed-bcd") }
func FuzzPackedFloat(f *testing.F) { fuzzDecoder(f, "packed-float") }
