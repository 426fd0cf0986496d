package identify

import (
	"bytes"
	"encoding/binary"
	"flag"
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
)

func TestIdentifyNamesTheForm(t *testing.T) {
	require.GreaterOrEqual(t, len(streams), 30)
	for _, s := range streams {
		t.Run(s.name, func(t *testing.T) {
			b := s.bytes()
			found := Bytes(b, 3*time.Second)
			require.NotEmpty(t, found)
			p := found[0]
			assert.Equal(t, s.frame, p.Profile.Frame)
			assert.GreaterOrEqual(t, p.Clean, 0.95)
			assert.InDelta(t, float64(len(s.counts))/3, p.Rate, 1)
			assert.NotEmpty(t, p.Samples)
			if s.frame == device.FrameText {
				assert.Equal(t, s.unit, p.Profile.Unit)
				resolution := resolutionOf(s.decimals)
				if strings.HasPrefix(s.name, "SCPI") {
					resolution = 0 // an exponent shows none
				}
				assert.Equal(t, resolution, p.Profile.Resolution)
			}
			assertValues(t, s, p.Profile, b)

			path := filepath.Join(t.TempDir(), "written.toml")
			file, err := os.Create(path)
			require.NoError(t, err)
			require.NoError(t, p.Profile.WriteTOML(file))
			require.NoError(t, file.Close())
			again, _, err := device.FindProfile(path)
			require.NoError(t, err)
			assertValues(t, s, again, b)
		})
	}
}

// assertValues decodes the stream with the profile and compares every value.
func assertValues(t *testing.T, s stream, p device.Profile, b []byte) {
	t.Helper()
	d, err := p.NewDecoder()
	require.NoError(t, err)
	var got, want []float64
	d.Feed(time.Time{}, b, func(f *frame.Frame) {
		require.Empty(t, f.Bad)
		got = append(got, f.Value)
	})
	scale := 1.0
	switch {
	case s.name == "float, crc":
		scale = 8
	case strings.HasPrefix(s.name, "int32 low first"):
		scale = 1.0 / 7
	case s.decimals > 0:
		scale = math.Pow10(s.decimals)
	}
	for _, c := range s.counts {
		want = append(want, float64(c)/scale)
	}
	require.Len(t, got, len(want))
	for i := range want {
		assert.InDelta(t, want[i], got[i], 1e-9, "value %d", i)
	}
}

func TestIdentifyAfterDamage(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for _, s := range streams {
		t.Run(s.name, func(t *testing.T) {
			b := s.bytes()[3:] // heard from the middle of a frame
			at := len(b)*3/4 + r.Intn(len(b)/8)
			b = append(b[:at:at], b[at+1:]...) // and one byte lost
			found := Bytes(b, 0)
			require.NotEmpty(t, found)
			assert.Equal(t, s.frame, found[0].Profile.Frame)
		})
	}
}

func TestIdentifyCannotTell(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	random := func(n int, of string) []byte {
		b := make([]byte, n)
		for i := range b {
			if of == "" {
				b[i] = byte(r.Intn(256))
			} else {
				b[i] = of[r.Intn(len(of))]
			}
		}
		return b
	}
	wrongSpeed := func() []byte { // lines heard at half their speed: every other bit
		var b []byte
		for i, c := range []byte(strings.Repeat("+0.123 mm\r\n", 80)) {
			if i%2 == 0 {
				b = append(b, c<<4|c>>6|0x80&c)
			}
		}
		return b
	}
	tests := map[string][]byte{
		"nothing":                nil,
		"white noise":            random(4000, ""),
		"NULs":                   make([]byte, 4000),
		"all ones":               bytes.Repeat([]byte{0xFF}, 4000),
		"two bytes in turn":      bytes.Repeat([]byte{0x55, 0xAA}, 2000),
		"random text":            random(4000, "abcdefghijklmnopqrstuvwxyz0123456789.,-+ \r\n"),
		"random digits":          random(4000, "0123456789.\n"),
		"words":                  bytes.Repeat([]byte("ready and waiting\r\n"), 100),
		"clock only":             clockLines(100),
		"wrong line speed":       wrongSpeed(),
		"two lines only":         []byte("0.123 mm\r\n0.124 mm\r\n"),
		"one endless line":       bytes.Repeat([]byte("0"), 4000),
		"line ends only":         bytes.Repeat([]byte("\r\n"), 500),
		"NULs with a rare digit": append(make([]byte, 2000), append([]byte("1\r\n"), make([]byte, 2000)...)...),
		"an error code":          bytes.Repeat([]byte("Err 02\r\n"), 100),
		"error codes":            bytes.Repeat([]byte("Err 02\r\nErr 03\r\nErr 05\r\n"), 40),
		"random bits in bursts":  append(random(500, "\x00\xff"), random(500, "\x0f\xf0\x33")...),
	}
	counting := make([]byte, 4096)
	for i := range counting {
		counting[i] = byte(i)
	}
	tests["counting bytes"] = counting
	for name, b := range tests {
		t.Run(name, func(t *testing.T) {
			for _, p := range Bytes(b, time.Second) {
				t.Errorf("took it for %s %+v with %d sound of %d: %v", p.Profile.Frame, p.Profile.Packed, p.Frames, p.Frames+p.Broken, p.Samples)
			}
		})
	}
}

func TestIdentifySaysThatNoUnitWasSent(t *testing.T) {
	for _, s := range streams {
		found := Bytes(s.bytes(), time.Second)
		require.NotEmpty(t, found, s.name)
		assert.Equal(t, s.unit == "", strings.Contains(strings.Join(found[0].Notes, " "), "unit"), s.name)
	}
}

// Random bytes of several alphabets may spell a gauge by chance, but rarely.
func TestIdentifyIsRarelyFooledByChance(t *testing.T) {
	alphabets := []string{"0123456789.\n", "0123456789.+- \r\n", "0123456789\r\n", "01\r", "0.1 m\n",
		"\x00\x01\x02\x03", "+-0123456789.,;mm \r\n", "\xaa\x55\x00\x01", "0123456789.eE+-\n", "\x00\xff"}
	fooled := 0
	for seed := range 600 {
		r := rand.New(rand.NewSource(int64(seed)))
		of := alphabets[seed%len(alphabets)]
		b := make([]byte, 50+r.Intn(3000))
		for i := range b {
			b[i] = of[r.Intn(len(of))]
		}
		if found := Bytes(b, 0); len(found) > 0 && found[0].Sure() {
			fooled++
		}
	}
	assert.LessOrEqual(t, fooled, 2, "of 600")
}

func clockLines(n int) []byte {
	var b bytes.Buffer
	for i := range n {
		fmt.Fprintf(&b, "12:%02d:%02d\r\n", i/60, i%60)
	}
	return b.Bytes()
}

func TestIdentifySevenBits(t *testing.T) {
	for _, parity := range []string{"even", "odd", "mark"} {
		t.Run(parity, func(t *testing.T) {
			b := streams[0].bytes()
			for i, c := range b {
				ones := strings.Count(fmt.Sprintf("%b", c), "1")
				if parity == "mark" || parity == "even" && ones%2 == 1 || parity == "odd" && ones%2 == 0 {
					b[i] |= 0x80
				}
			}
			found := Bytes(b, 0)
			require.NotEmpty(t, found)
			assert.Equal(t, 7, found[0].Profile.Serial.DataBits)
			assert.Equal(t, parity, found[0].Profile.Serial.Parity)
		})
	}
}

var update = flag.Bool("update", false, "rewrite the golden files")

// Every proposal for every stream, the best first, as a profile on one line.
func TestProposals(t *testing.T) {
	var all bytes.Buffer
	for _, s := range streams {
		fmt.Fprintf(&all, "%s\n", s.name)
		for _, p := range Bytes(s.bytes(), 0) {
			var file bytes.Buffer
			require.NoError(t, p.Profile.WriteTOML(&file))
			line := strings.Join(strings.Fields(strings.ReplaceAll(file.String(), "\n", " ")), " ")
			fmt.Fprintf(&all, "\t%d sound, %d garbled: %s\n", p.Frames, p.Broken, line)
		}
	}
	const golden = "testdata/proposals.golden"
	if *update {
		require.NoError(t, os.WriteFile(golden, all.Bytes(), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), all.String())
}

// The least evidence is just enough, and a frame or a byte less is not.
func TestLeastEvidence(t *testing.T) {
	p, _, err := device.FindProfile("text")
	require.NoError(t, err)
	sound := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "0.%d00 mm\r\n", i+1)
		}
		return b.String()
	}
	tests := []struct {
		name, in      string
		ok            bool
		frames, wrong int
		clean         float64
	}{
		{"five frames", sound(5), true, 5, 0, 1},
		{"four frames", sound(4), false, 4, 0, 1},
		{"a first frame cut", "x\r\n" + sound(5), true, 5, 0, 1},
		{"eight of ten", sound(8) + "x\r\nx\r\n", true, 8, 2, 0.8},
		{"seven of nine", sound(7) + "x\r\nx\r\n", false, 7, 2, 7.0 / 9},
		{"half of the bytes", sound(8) + strings.Repeat("x", 80), true, 8, 0, 1},
		{"less than half of the bytes", sound(8) + strings.Repeat("x", 81), false, 8, 0, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, ok := Check(p, []byte(tt.in), 0)
			assert.Equal(t, tt.ok, ok)
			assert.Equal(t, tt.frames, got.Frames)
			assert.Equal(t, tt.wrong, got.Broken)
			assert.InDelta(t, tt.clean, got.Clean, 1e-12)
			assert.Zero(t, got.Rate, "the time is not known")
			assert.Empty(t, got.Notes)
			assert.Len(t, got.Samples, min(tt.frames, 5))
		})
	}
	bare, _ := Check(p, []byte("0.1\r\n0.2\r\n"), time.Second)
	assert.Equal(t, []Sample{{"0.1", 0.1, "mm"}, {"0.2", 0.2, "mm"}}, bare.Samples, "the unit of the profile")
	assert.Len(t, Bytes([]byte(sound(6)), 0), 1, "the first line may be cut")
	assert.Empty(t, Bytes([]byte(sound(5)), 0))
	assert.Len(t, Bytes([]byte("x\r\n"+sound(8)+"x\r\nx\r\n"), 0), 1, "eight of ten")
	assert.Empty(t, Bytes([]byte("x\r\n"+sound(7)+"x\r\nx\r\n"), 0), "seven of nine")
}

func TestResolutionOfADisplay(t *testing.T) {
	for decimals, want := range map[int]float64{-1: 0, 0: 0, 1: 0.1, 3: 0.001, 9: 1e-9, 10: 0} {
		assert.Equal(t, want, resolutionOf(decimals), "%d decimals", decimals)
	}
}

func TestFloatOfASizeThatAGaugeShows(t *testing.T) {
	for v, want := range map[float32]bool{0: true, 1e7: true, 1.1e7: false, -1e7: true, 1.1e-7: true, 0.9e-7: false, -2e-7: true,
		float32(math.Inf(1)): false, float32(math.NaN()): false, 0.1735: true} {
		frames := [][]byte{binary.BigEndian.AppendUint32(nil, math.Float32bits(1)), binary.BigEndian.AppendUint32(nil, math.Float32bits(v))}
		f := field{size: 4, kind: "float", order: "big"}
		assert.Equal(t, want, f.read(frames, make([]float64, 4)), "%g", v)
	}
}

func TestModbusAddressesThatAreOne(t *testing.T) {
	for address, want := range map[byte]int{0: 0, 1: 1, 247: 1, 248: 0} {
		var b []byte
		for i := range 5 {
			b = append(b, modbusCRC.Append([]byte{address, 3, 2, 0, byte(i * i)})...)
		}
		assert.Equal(t, want, min(len(modbusCandidates(b, false)), 1), "address %d", address)
		assert.Empty(t, modbusCandidates(b[:len(b)-1], false), "the last answer is cut")
	}
}

func TestNumbersBesideOthers(t *testing.T) {
	for _, tt := range []struct {
		format string
		want   bool
		unit   string
	}{
		{"%d;A;0.%03[2]d\n", true, ""}, {"0.%03[2]d;mm;%[1]d\n", true, "mm"}, {"%d|0.%03[2]d|x\n", true, ""}, {"x,%[1]d\n", false, ""}, {"7;8\n%.0[1]s", false, ""},
		{"%[1]d A 5.0 0.%03[2]d\n", true, ""},
	} {
		var b []byte
		for i, c := range rocking(40) {
			b = fmt.Appendf(b, tt.format, i, c)
		}
		found := Bytes(b, 0)
		if !tt.want {
			assert.Empty(t, found, tt.format)
			continue
		}
		if assert.NotEmpty(t, found, tt.format) {
			assert.True(t, found[0].Sure(), tt.format)
			assert.InDelta(t, float64(rocking(40)[1])/1000, found[0].Samples[1].Value, 1e-9, tt.format)
			assert.Equal(t, tt.unit, found[0].Profile.Unit, tt.format)
		}
	}
}

func TestCheckProfile(t *testing.T) {
	p, _, err := device.FindProfile("text")
	require.NoError(t, err)
	got, ok := Check(p, []byte("23 mm\r\n0.123 mm\r\n0.124 mm\r\n0.1.2 mm\r\n0.125 mm\r\n0.126 mm\r\n0.127 mm\r\n"), time.Second)
	assert.True(t, ok)
	assert.Equal(t, 6, got.Frames)
	assert.Equal(t, 1, got.Broken)
	assert.Equal(t, 6.0, got.Rate)
	assert.Equal(t, Sample{Raw: "0.123 mm", Value: 0.123, Unit: "mm"}, got.Samples[1])
	got, ok = Check(p, []byte("\x01\x02\x03\x04"), 0)
	assert.False(t, ok)
	assert.Zero(t, got.Clean)
	still, ok := Check(p, bytes.Repeat([]byte("0.100\r\n"), 9), 0)
	assert.True(t, ok)
	assert.Equal(t, []string{"the value never changed: move the gauge and listen again to be sure"}, still.Notes)
}

func FuzzIdentify(f *testing.F) {
	for i, s := range streams {
		b := s.bytes()
		f.Add(b[:min(len(b), 200)], uint8(i))
	}
	f.Fuzz(func(t *testing.T, b []byte, _ uint8) {
		for _, p := range Bytes(b, 0) {
			require.NoError(t, p.Profile.Check())
		}
	})
}
