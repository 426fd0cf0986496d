package device

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// bench are the decoders every property below must hold for.
var bench = []struct {
	name    string
	profile Profile
	most    int // bytes of a partial frame
}{
	{"text", Profile{Frame: FrameText}, defaultLineLength},
	{"text-crlf", Profile{Frame: FrameText, Text: &Text{LineEnd: "crlf", MaxLength: 32}}, 32},
	{"columns", Profile{Frame: FrameText, Text: &Text{Column: 2, UnitAt: 3, SeqAt: 1}}, defaultLineLength},
	{"pattern", Profile{Frame: FrameText, Text: &Text{Pattern: `(?P<sign>[+-]?)(?P<value>[\d.]+)(?P<unit>mm|in)?`}}, defaultLineLength},
	{"scpi", Profile{Frame: FrameSCPI, SCPI: &SCPI{Query: "READ?", Item: 1}}, 1024},
	{"modbus", Profile{Frame: FrameModbus, Modbus: &Modbus{Address: 1, Function: 4, Type: "float32"}}, 9},
	{"packed-bcd", Profile{Frame: FramePacked, Packed: &Packed{Length: 6, Header: "AA", At: 2, Size: 3, Type: "bcd", Decimals: 3, Checksum: "sum8"}}, 6},
	{"packed-float", Profile{Frame: FramePacked, Packed: &Packed{Length: 7, At: 0, Size: 4, Type: "float", Checksum: "crc16-ccitt", Trailer: "03"}}, 7},
}

// check holds the decoder of a profile to what every decoder promises.
func checkDecoder(t *testing.T, p Profile, most int, b []byte, cut uint8) {
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
			require.False(t, math.IsNaN(f.Value) || math.IsInf(f.Value, 0), "a sound value is finite")
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
			for _, s := range streams {
				for _, cut := range []uint8{0, 4, 16} {
					checkDecoder(t, d.profile, d.most, s.bytes(), cut)
				}
			}
		})
	}
}

// seeds adds the streams of the identification and the fault bench.
func seeds(f *testing.F) {
	for i, s := range streams {
		b := s.bytes()
		f.Add(b[:min(len(b), 200)], uint8(i))
	}
	f.Add([]byte("0.10.2\r\n0.1-0.2\r\n- 0.5 mm\r\n\x000.1\r\nOL\r\n9.91E37\n"), uint8(3))
	f.Add([]byte{0xAA, 0x55, 0xAA, 0x55, 0, 0, 0, 0xAA}, uint8(1))
}

func fuzzDecoder(f *testing.F, name string) {
	seeds(f)
	f.Fuzz(func(t *testing.T, b []byte, cut uint8) {
		for _, d := range bench {
			if d.name == name {
				checkDecoder(t, d.profile, d.most, b, cut)
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

// FuzzUsualLine asks the short way of a text line for the same answer as the
// long way.
func FuzzUsualLine(f *testing.F) {
	seeds(f)
	f.Add([]byte("0,123\n5.5,123\n1.5,\n2.5,\n00.1in\n0.1in\n"), uint8(0))
	f.Fuzz(func(t *testing.T, b []byte, _ uint8) {
		for _, end := range []string{"any", "cr", "lf", "crlf"} {
			short, err := (&Text{LineEnd: end}).decoder()
			require.NoError(t, err)
			long, err := (&Text{LineEnd: end}).decoder()
			require.NoError(t, err)
			long.(*textDecoder).plain = false
			require.Equal(t, decodeAll(t, long, b), decodeAll(t, short, b), end)
		}
	})
}

func FuzzKeyed(f *testing.F) {
	for _, s := range []string{"0.18", "3 1/2 div", "7 thou", "-1/0 div", "1e999", "0,18 mm", "3 2e999", "40 N x 50 mm", "1e300kgf*1e300cm"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		v, unit, err := ParseKeyed(string(b), 0.01)
		if err != nil {
			require.Zero(t, v)
			require.Empty(t, unit)
			return
		}
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
	})
}

func FuzzIdentify(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, b []byte, _ uint8) {
		for _, p := range IdentifyBytes(b, 0) {
			require.NoError(t, p.Profile.check())
		}
	})
}

func FuzzProfile(f *testing.F) {
	list, err := filepath.Glob("profiles/*.toml")
	require.NoError(f, err)
	for _, path := range list {
		b, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := parseProfile("p.toml", b)
		if err != nil {
			require.Equal(t, Profile{}, p)
			require.Regexp(t, `^p\.toml:\d+:\d+: `, err.Error())
			return
		}
		_, err = p.NewDecoder()
		require.NoError(t, err)
	})
}
