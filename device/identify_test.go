package device

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rocking is what a gauge shows while a wheel is rocked, in counts; invented.
func rocking(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = int(math.Round(80 + 75*math.Sin(float64(i)/7)))
	}
	return list
}

// swing crosses zero, to show the sign.
func swing(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = int(math.Round(300 * math.Sin(float64(i)/11)))
	}
	return list
}

// A stream is made from known counts; identifying it must give them back.
type stream struct {
	name     string
	frame    string
	counts   []int
	decimals int // of the value in the frame; -1: the frame does not tell
	unit     string
	make     func(i, count int) []byte
}

func line(format string) func(i, count int) []byte {
	return func(i, count int) []byte {
		s := strings.ReplaceAll(format, "#i", fmt.Sprint(i))
		s = strings.ReplaceAll(s, "#t", fmt.Sprintf("%d.%02d", 100+i/50, i%50*2))
		if strings.Contains(s, "%d") {
			return []byte(fmt.Sprintf(s, count))
		}
		return []byte(fmt.Sprintf(s, float64(count)/1000))
	}
}

// sealed adds a checksum of all bytes.
func sealed(kind string, b []byte) []byte {
	sum := checksums[kind]
	if sum.size == 1 {
		return append(b, byte(sum.of(b)))
	}
	return binary.LittleEndian.AppendUint16(b, sum.of(b))
}

func bcd(v, size int) []byte {
	b := make([]byte, size)
	for i := size - 1; i >= 0; i-- {
		b[i] = byte(v%10 | v/10%10<<4)
		v /= 100
	}
	return b
}

func sign(v int) byte {
	if v < 0 {
		return 1
	}
	return 0
}

func abs(v int) int { return max(v, -v) }

func modbusFloat(address, function byte, lowFirst bool) func(i, count int) []byte {
	return func(_, count int) []byte {
		v := binary.BigEndian.AppendUint32(nil, math.Float32bits(float32(count)/1000))
		if lowFirst {
			v[0], v[1], v[2], v[3] = v[2], v[3], v[0], v[1]
		}
		return appendModbusCRC(append([]byte{address, function, 4}, v...))
	}
}

var streams = []stream{
	{"bare decimal, CRLF", FrameText, rocking(60), 3, "", line("%.3f\r\n")},
	{"bare decimal, CR", FrameText, rocking(60), 3, "", line("%.3f\r")},
	{"bare decimal, LF", FrameText, rocking(60), 3, "", line("%.3f\n")},
	{"signed", FrameText, swing(60), 3, "", line("%+.3f\r\n")},
	{"padded with zeros", FrameText, swing(60), 3, "", line("%+08.3f\r\n")},
	{"padded with spaces", FrameText, swing(60), 3, "", line("%9.3f\r\n")},
	{"two decimals", FrameText, rocking(60), 2, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%.2f\r\n", float64(c)/100)) }},
	{"whole numbers", FrameText, swing(60), 0, "", line("%d\r\n")},
	{"trailing zeros dropped", FrameText, rocking(60), 3, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%v\r\n", float64(c)/1000)) }},
	{"decimal comma", FrameText, rocking(60), 3, "", func(_, c int) []byte {
		return []byte(strings.Replace(fmt.Sprintf("%.3f\r\n", float64(c)/1000), ".", ",", 1))
	}},
	{"unit mm", FrameText, swing(60), 3, "mm", line("%+.3f mm\r\n")},
	{"unit attached", FrameText, swing(60), 3, "mm", line("%.3fmm\r\n")},
	{"unit in", FrameText, rocking(60), 4, "in", func(_, c int) []byte { return []byte(fmt.Sprintf("%.4f in\r\n", float64(c)/10000)) }},
	{"torque", FrameText, rocking(60), 1, "N·m", func(_, c int) []byte { return []byte(fmt.Sprintf("%6.1f N.m\r\n", float64(c)/10)) }},
	{"pressure", FrameText, rocking(60), 2, "kPa", func(_, c int) []byte { return []byte(fmt.Sprintf("P=%.2f kPa\r\n", float64(c)/100)) }},
	{"label", FrameText, swing(60), 3, "mm", line("CH1: %+.3f mm\r\n")},
	{"state words", FrameText, swing(60), 3, "mm", line("ST,GS,%+09.3fmm\r\n")},
	{"CSV, value first", FrameText, swing(60), 3, "", line("%.3f,#i,OK\r\n")},
	{"CSV, value second", FrameText, swing(60), 3, "", line("#i,%.3f,OK\r\n")},
	{"CSV, value third of four", FrameText, swing(60), 3, "mm", line("#t,A,%.3f,mm\r\n")},
	{"CSV, value last", FrameText, swing(60), 3, "", line("#i,#t,7,%.3f\n")},
	{"semicolons and decimal comma", FrameText, swing(60), 3, "", func(i, c int) []byte {
		return []byte(fmt.Sprintf("12:30:%02d;%s\r\n", i%60, strings.Replace(fmt.Sprintf("%.3f", float64(c)/1000), ".", ",", 1)))
	}},
	{"tabs", FrameText, swing(60), 3, "", line("#i\t%.3f\t20.5 C\r\n")},
	{"clock before the value", FrameText, swing(60), 3, "mm", line("12:30:05 %+.3f mm\r\n")},
	{"BCD, sum", FramePacked, rocking(60), -1, "", func(_, c int) []byte { return sealed("sum8", append([]byte{0xAA}, bcd(abs(c), 3)...)) }},
	{"BCD, sign byte, xor", FramePacked, swing(60), -1, "", func(_, c int) []byte { return sealed("xor8", append([]byte{0x02, sign(c)}, bcd(abs(c), 3)...)) }},
	{"BCD, crc", FramePacked, rocking(60), -1, "", func(_, c int) []byte { return sealed("crc16-modbus", append([]byte{0x7E}, bcd(abs(c), 4)...)) }},
	{"int32 low first, crc and counter", FramePacked, swing(60), -1, "", func(i, c int) []byte { return intFrame(int32(c*7), byte(i)) }},
	{"int16 high first, lrc", FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return sealed("lrc", binary.BigEndian.AppendUint16([]byte{0x55}, uint16(int16(c))))
	}},
	{"int32 high first, ccitt", FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return sealed("crc16-ccitt", binary.BigEndian.AppendUint32([]byte{0xA5, 0x10}, uint32(int32(c))))
	}},
	{"float, crc", FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return sealed("crc16-xmodem", binary.LittleEndian.AppendUint32([]byte{0xA5}, math.Float32bits(float32(c)/8)))
	}},
	{"Modbus float, function 4", FrameModbus, swing(40), 3, "", modbusFloat(1, 4, false)},
	{"Modbus float, function 3, device 17", FrameModbus, swing(40), 3, "", modbusFloat(17, 3, false)},
	{"Modbus float, low word first", FrameModbus, swing(40), 3, "", modbusFloat(5, 4, true)},
	{"Modbus int16", FrameModbus, swing(40), 0, "", func(_, c int) []byte {
		return appendModbusCRC(binary.BigEndian.AppendUint16([]byte{1, 4, 2}, uint16(int16(c))))
	}},
	{"Modbus int32", FrameModbus, swing(40), 0, "", func(_, c int) []byte {
		return appendModbusCRC(binary.BigEndian.AppendUint32([]byte{1, 3, 4}, uint32(int32(c))))
	}},
	{"SCPI NR3", FrameSCPI, swing(40), 3, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%+.5E\n", float64(c)/1000)) }},
	{"SCPI NR3, CRLF", FrameSCPI, swing(40), 3, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%.4E\r\n", float64(c)/1000)) }},
}

func (s stream) bytes() []byte {
	var b bytes.Buffer
	for i, c := range s.counts {
		b.Write(s.make(i, c))
	}
	return b.Bytes()
}

func TestIdentifyNamesTheForm(t *testing.T) {
	require.GreaterOrEqual(t, len(streams), 30)
	for _, s := range streams {
		t.Run(s.name, func(t *testing.T) {
			b := s.bytes()
			found := IdentifyBytes(b, 3*time.Second)
			require.NotEmpty(t, found)
			p := found[0]
			assert.Equal(t, s.frame, p.Profile.Frame)
			assert.GreaterOrEqual(t, p.Clean, 0.95)
			assert.InDelta(t, float64(len(s.counts))/3, p.Rate, 1)
			assert.NotEmpty(t, p.Samples)
			if s.frame == FrameText {
				assert.Equal(t, s.unit, p.Profile.Unit)
				assert.Equal(t, resolutionOf(s.decimals), p.Profile.Resolution)
			}
			assertValues(t, s, p.Profile, b)

			var out bytes.Buffer
			require.NoError(t, p.Profile.WriteTOML(&out))
			again, err := parseProfile("written.toml", out.Bytes())
			require.NoError(t, err, out.String())
			assertValues(t, s, again, b)
		})
	}
}

// assertValues decodes the stream with the profile and compares every value.
func assertValues(t *testing.T, s stream, p Profile, b []byte) {
	t.Helper()
	d, err := p.NewDecoder()
	require.NoError(t, err)
	var got, want []float64
	for _, f := range decodeAll(t, d, b) {
		require.Empty(t, f.Bad)
		got = append(got, f.Value)
	}
	scale := 1.0
	switch {
	case s.name == "float, crc":
		scale = 8
	case strings.HasPrefix(s.name, "int32 low first"):
		scale = 1.0 / 7
	case s.decimals > 0:
		scale = pow10[s.decimals]
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
			found := IdentifyBytes(b, 0)
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
		"counting bytes":         random(1, "")[:0],
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
		"commas of thousands":    thousandLines(100),
		"random bits in bursts":  append(random(500, "\x00\xff"), random(500, "\x0f\xf0\x33")...),
	}
	counting := make([]byte, 4096)
	for i := range counting {
		counting[i] = byte(i)
	}
	tests["counting bytes"] = counting
	for name, b := range tests {
		t.Run(name, func(t *testing.T) {
			for _, p := range IdentifyBytes(b, time.Second) {
				t.Errorf("took it for %s %+v with %d sound of %d: %v", p.Profile.Frame, p.Profile.Packed, p.Frames, p.Frames+p.Broken, p.Samples)
			}
		})
	}
}

func thousandLines(n int) []byte {
	var b bytes.Buffer
	for i := range n {
		fmt.Fprintf(&b, "1,%06.2f\r\n", 200+90*math.Sin(float64(i)/7))
	}
	return b.Bytes()
}

func TestIdentifySaysThatNoUnitWasSent(t *testing.T) {
	for _, s := range streams {
		found := IdentifyBytes(s.bytes(), time.Second)
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
		if len(IdentifyBytes(b, 0)) > 0 {
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
			found := IdentifyBytes(b, 0)
			require.NotEmpty(t, found)
			assert.Equal(t, 7, found[0].Profile.Serial.DataBits)
			assert.Equal(t, parity, found[0].Profile.Serial.Parity)
		})
	}
}

func TestCheckProfile(t *testing.T) {
	p, err := FindProfile("text")
	require.NoError(t, err)
	got, ok := CheckProfile(p, []byte("23 mm\r\n0.123 mm\r\n0.124 mm\r\n0.1.2 mm\r\n0.125 mm\r\n0.126 mm\r\n0.127 mm\r\n"), time.Second)
	assert.True(t, ok)
	assert.Equal(t, 6, got.Frames)
	assert.Equal(t, 1, got.Broken)
	assert.Equal(t, 6.0, got.Rate)
	assert.Equal(t, Sample{Raw: "0.123 mm", Value: 0.123, Unit: "mm"}, got.Samples[1])
	got, ok = CheckProfile(p, []byte("\x01\x02\x03\x04"), 0)
	assert.False(t, ok)
	assert.Zero(t, got.Clean)
	still, ok := CheckProfile(p, bytes.Repeat([]byte("0.100\r\n"), 9), 0)
	assert.True(t, ok)
	assert.Equal(t, []string{"the value never changed: move the gauge and listen again to be sure"}, still.Notes)
}

// A talker is a port whose gauge answers questions, or streams.
type talker struct {
	answer  func(ask []byte) []byte
	streams []byte
	pending []byte
	sent    [][]byte
}

func (k *talker) Write(b []byte) (int, error) {
	k.sent = append(k.sent, bytes.Clone(b))
	if k.answer != nil {
		k.pending = append(k.pending, k.answer(b)...)
	}
	return len(b), nil
}

func (k *talker) Read(b []byte) (int, error) {
	if len(k.streams) > 0 {
		n := copy(b, k.streams)
		k.streams = k.streams[n:]
		return n, nil
	}
	n := copy(b, k.pending)
	k.pending = k.pending[n:]
	if n == 0 {
		time.Sleep(time.Millisecond)
	}
	return n, nil
}

func (k *talker) Close() error                       { return nil }
func (k *talker) SetReadTimeout(time.Duration) error { return nil }

func TestWithoutEcho(t *testing.T) {
	for _, tt := range []struct{ heard, ask, want string }{
		{"?\r0.1\r", "?\r", "0.1\r"},
		{"?\r\n0.1\r\n", "?\r", "0.1\r\n"},
		{"?", "?\r", ""},
		{"?\r", "?\r", ""},
		{"?0.1\r", "?\r", "?0.1\r"},
		{"0.1\r", "?\r", "0.1\r"},
		{"\r\n0.1", "\r\n", "\r\n0.1"},
		{"\x01\x04\x02ab", "\x01\x04", "\x02ab"},
	} {
		assert.Equal(t, tt.want, string(withoutEcho([]byte(tt.heard), []byte(tt.ask))), "%q after %q", tt.heard, tt.ask)
	}
}

func TestIdentifyOnAPort(t *testing.T) {
	counts := swing(60)
	next := 0
	count := func() float64 { next++; return float64(counts[next%len(counts)]) / 1000 }
	scpi := func(ask []byte) []byte {
		if string(ask) != "FETC?\n" {
			return nil
		}
		return []byte(fmt.Sprintf("%+.4E\n", count()))
	}
	modbus := func(ask []byte) []byte {
		if m := (Modbus{Address: 1, Function: 3, Type: "float32"}); !bytes.Equal(ask, m.request()) {
			return nil
		}
		return modbusFloat(1, 3, false)(0, int(1000*count()))
	}
	letter := func(ask []byte) []byte {
		if string(ask) != "R\r\n" {
			return nil
		}
		return []byte(fmt.Sprintf("%+.3f mm\r\n", count()))
	}
	echoing := func(answer func([]byte) []byte) func([]byte) []byte {
		return func(ask []byte) []byte { return append(bytes.Clone(ask), answer(ask)...) }
	}
	tests := []struct {
		name    string
		gauge   talker
		maySend bool
		frame   string
		ask     string
	}{
		{"streams", talker{streams: streams[10].bytes()}, false, FrameText, ""},
		{"streams, not asked although it may be", talker{streams: streams[10].bytes()}, true, FrameText, ""},
		{"SCPI", talker{answer: scpi}, true, FrameSCPI, "FETC?\n"},
		{"Modbus", talker{answer: modbus}, true, FrameModbus, string((&Modbus{Address: 1, Function: 3, Type: "float32"}).request())},
		{"letter", talker{answer: letter}, true, FrameText, "R\r\n"},
		{"letter, with an echo", talker{answer: echoing(letter)}, true, FrameText, "R\r\n"},
		{"SCPI, with an echo", talker{answer: echoing(scpi)}, true, FrameSCPI, "FETC?\n"},
		{"Modbus, with an echo", talker{answer: echoing(modbus)}, true, FrameModbus, string((&Modbus{Address: 1, Function: 3, Type: "float32"}).request())},
		{"silent unless asked", talker{answer: letter}, false, "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			gauge := tt.gauge
			o := IdentifyOptions{MaySend: tt.maySend, Listen: 20 * time.Millisecond, Bauds: []int{19200},
				Open: func(string, Serial) (Port, error) { return &gauge, nil }}
			found, err := Identify(context.Background(), "port", o)
			if !tt.maySend || tt.ask == "" {
				assert.Empty(t, gauge.sent, "nothing is sent without leave or need")
			}
			if tt.frame == "" {
				assert.ErrorIs(t, err, ErrCannotTell)
				return
			}
			require.NoError(t, err)
			require.NotEmpty(t, found)
			p := found[0].Profile
			assert.Equal(t, tt.frame, p.Frame)
			assert.Equal(t, 19200, p.Serial.Baud)
			require.NoError(t, p.check())
			ask, err := p.question()
			require.NoError(t, err)
			assert.Equal(t, tt.ask, string(ask))
		})
	}
	t.Run("port fails", func(t *testing.T) {
		o := IdentifyOptions{Open: func(name string, _ Serial) (Port, error) {
			return nil, &PortError{Port: name, Reason: PortBusy}
		}}
		_, err := Identify(context.Background(), "port", o)
		var pe *PortError
		require.True(t, errors.As(err, &pe))
		assert.Equal(t, PortBusy, pe.Reason)
	})
}
