//go:build unix

package device

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"crownlog/device/frame"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func profile(t testing.TB, name string) Profile {
	t.Helper()
	p, _, err := FindProfile(name)
	require.NoError(t, err)
	return p
}

// textLines are n whole lines of a gauge with a fixed form, no two alike.
func textLines(n int) []string {
	list := make([]string, n)
	for i := range list {
		list[i] = fmt.Sprintf("%+08.3f mm", float64(i*(1-i%2*2))/1000)
	}
	return list
}

// intFrame makes a frame of the profile packed-int.
func intFrame(v int32, seq byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte{0xAA, 0x55}, uint32(v))
	return modbusCRC.Append(append(b, seq))
}

// last is sent after the faults, with a unit of its own, to know when all
// before it was decoded. It comes after a line end, so that a line cut short
// does not swallow it.
const last = "+0.5000 in"

// TestBrokenText damages a stream of lines and asks for every whole line once
// and for every broken one counted.
func TestBrokenText(t *testing.T) {
	seed := rand.New(rand.NewSource(1))
	lines := textLines(298)
	end := "\r\n"
	tests := []struct {
		name  string
		spoil func(i int, line string) (sent string, whole, broken int)
	}{
		{"bytes dropped", func(i int, line string) (string, int, int) {
			at := seed.Intn(len(line) - 3) // in the number: the lost byte shows
			return line[:at] + line[at+1:] + end, 0, 1
		}},
		{"tails dropped", func(i int, line string) (string, int, int) {
			return line[:1+seed.Intn(len(line)-1)] + end, 0, 1
		}},
		{"line ends dropped", func(i int, line string) (string, int, int) {
			return line, 0, 0 // joins with the next, which is then broken
		}},
		{"NULs inside", func(i int, line string) (string, int, int) {
			at := seed.Intn(len(line))
			return line[:at] + "\x00" + line[at:] + end, 0, 1
		}},
		{"NULs in place", func(i int, line string) (string, int, int) {
			at := seed.Intn(len(line))
			return line[:at] + "\x00" + line[at+1:] + end, 0, 1
		}},
		{"high bits set", func(i int, line string) (string, int, int) {
			b := []byte(line)
			b[seed.Intn(len(b))] |= 0x80
			return string(b) + end, 0, 1
		}},
		{"doubled line", func(i int, line string) (string, int, int) {
			return line + end + line + end, 2, 0
		}},
		{"noise between lines", func(i int, line string) (string, int, int) {
			return "\x81\x00~?" + end + line + end, 1, 1
		}},
		{"too long a line", func(i int, line string) (string, int, int) {
			return strings.Repeat("8", 3000) + end + line + end, 1, 1
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := newPeer(t)
			l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
			var want []string
			broken := 0
			joined := false
			var stream [][]byte
			for i, line := range lines {
				sent, whole := line+end, 1
				if i%7 == 5 {
					var bad int
					sent, whole, bad = tt.spoil(i, line)
					broken += bad
					joined = whole == 0 && bad == 0
				} else if joined {
					whole, joined = 0, false
					broken++
				}
				for range whole {
					want = append(want, line)
				}
				stream = append(stream, pieces(seed, []byte(sent))...)
			}
			p.play(append(stream, []byte(end+last+end)))
			l.untilRaw(last)
			assert.Equal(t, append(want, last), l.raws())
			assert.Equal(t, broken, l.count(EventGarbled))
		})
	}
}

// pieces splits bytes as a line may deliver them.
func pieces(r *rand.Rand, b []byte) [][]byte {
	var list [][]byte
	for len(b) > 0 {
		n := 1 + r.Intn(len(b))
		list = append(list, b[:n])
		b = b[n:]
	}
	return list
}

// TestBrokenBinary flips bits, which only a checksum shows.
func TestBrokenBinary(t *testing.T) {
	seed := rand.New(rand.NewSource(2))
	p := newPeer(t)
	l := listen(t, profile(t, "packed-int"), PortOpener(p.link, Serial{}))
	want, broken := 0, 0
	var stream [][]byte
	for i := range 400 {
		b := intFrame(int32(i), byte(i))
		if i%5 == 3 {
			b[seed.Intn(len(b))] ^= 1 << seed.Intn(8)
			broken++
		} else {
			want++
		}
		stream = append(stream, pieces(seed, b)...)
	}
	p.play(append(stream, intFrame(999999, 0)))
	l.until(func(ev Event) bool { return ev.Reading.Value == 99.9999 })
	assert.Equal(t, want+1, l.count(EventReading))
	assert.Equal(t, broken, l.count(EventGarbled))
	var values []float64
	for _, ev := range l.all {
		if ev.Kind == EventReading {
			values = append(values, ev.Reading.Value)
			assert.Empty(t, ev.Reading.Flags&frame.FlagDuplicate)
		}
	}
	assert.IsIncreasing(t, values, "each once, in order")
}

func TestMegabyteWithoutLineEnd(t *testing.T) {
	p := newPeer(t)
	l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
	p.send([]byte("+0.100 mm\r\n"))
	l.untilRaw("+0.100 mm")
	before := heap()
	go func() {
		for range 64 {
			p.master.Write(bytes.Repeat([]byte("0"), 16384))
		}
		p.master.Write([]byte("\r\n+0.200 mm\r\n"))
	}()
	l.untilRaw("+0.200 mm")
	assert.Less(t, heap(), before+1<<20, "bytes of memory")
	assert.Equal(t, 1, l.count(EventGarbled))
}

// TestFlood sends as fast as the terminal takes it.
func TestFlood(t *testing.T) {
	const rounds, each = 200, 500
	p := newPeer(t)
	l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
	lines := []byte(strings.Join(textLines(each), "\r\n") + "\r\n")
	go func() {
		for range rounds {
			p.master.Write(lines)
		}
		p.master.Write([]byte(last + "\r\n"))
	}()
	readings := 0
	var peak uint64
	for ev := range l.events {
		require.Equal(t, EventReading, ev.Kind, ev.Text)
		if readings%10000 == 0 {
			peak = max(peak, heap())
		}
		if ev.Reading.Raw == last {
			break
		}
		readings++
	}
	assert.Equal(t, rounds*each, readings)
	assert.Less(t, peak, uint64(16<<20), "bytes of memory")
}

func heap() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

func TestCableIsKnocked(t *testing.T) {
	p := newPeer(t)
	l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
	p.send([]byte("+0.100 mm\r\n+0.200 mm\r\n+0.3"))
	l.untilRaw("+0.200 mm")
	time.Sleep(2 * pollEvery) // the terminal drops unread bytes when it dies
	p.unplug()
	l.untilKind(EventLost)
	p.plug() // a new terminal, another name behind the link
	p.send([]byte("+0.400 mm\r\n+0.500 mm\r\n"))
	l.untilRaw("+0.500 mm")
	assert.Equal(t, []string{"+0.100 mm", "+0.200 mm", "+0.400 mm", "+0.500 mm"}, l.raws())
	assert.Equal(t, 1, l.count(EventLost))
	assert.Equal(t, 1, l.count(EventBack))
	for _, ev := range l.all {
		switch ev.Kind {
		case EventLost:
			assert.Equal(t, fmt.Sprintf("%q: device is gone", p.link), ev.Text)
		case EventBack:
			assert.Equal(t, fmt.Sprintf("open again as %q", p.link), ev.Text)
		}
	}
}

func TestHeardFromTheMiddleOfALine(t *testing.T) {
	tests := []struct {
		name, sent string
		want       []string
		garbled    int
	}{
		{"digits lost", "2.345 mm\r\n12.346 mm\r\n12.347 mm\r\n", []string{"12.346 mm", "12.347 mm"}, 1},
		{"only the unit", " mm\r\n12.346 mm\r\n12.347 mm\r\n", []string{"12.346 mm", "12.347 mm"}, 1},
		{"a whole line", "12.345 mm\r\n12.346 mm\r\n12.347 mm\r\n", []string{"12.345 mm", "12.346 mm", "12.347 mm"}, 0},
		{"a sign begins it", "+2.345 mm\r\n-12.346 mm\r\n", []string{"+2.345 mm", "-12.346 mm"}, 0},
		{"a minus begins it", "-2.345 mm\r\n-12.346 mm\r\n", []string{"-2.345 mm", "-12.346 mm"}, 0},
		{"one line alone", "12.345 mm\r\n", []string{"12.345 mm"}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := newPeer(t)
			p.send([]byte(tt.sent)) // before the port is open
			l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
			l.untilRaw(tt.want[len(tt.want)-1])
			l.stop()
			assert.Equal(t, tt.want, l.raws())
			assert.Equal(t, tt.garbled, l.count(EventGarbled))
		})
	}
}

func TestSilence(t *testing.T) {
	p := newPeer(t)
	prof := profile(t, "text")
	prof.Interval = Duration(20 * time.Millisecond)
	l := listen(t, prof, PortOpener(p.link, Serial{}))
	p.send([]byte("+0.100 mm\r\n"))
	l.untilRaw("+0.100 mm")
	l.all = nil
	l.untilKind(EventSilent)
	p.send([]byte("+0.200 mm\r\n"))
	l.untilRaw("+0.200 mm")
	assert.Equal(t, 1, l.count(EventSilent), "one report for one silence")
}

func TestUnitSwitched(t *testing.T) {
	p := newPeer(t)
	l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
	p.send([]byte("+2.540 mm\r\n+2.541 mm\r\n+0.1000 in\r\n+0.1001 in\r\n"))
	l.untilRaw("+0.1001 in")
	var flags []frame.Flags
	for _, ev := range l.all {
		flags = append(flags, ev.Reading.Flags)
	}
	assert.Equal(t, []frame.Flags{0, 0, frame.FlagUnitChanged, 0}, flags)
}

// Without a unit word the new form shows after three lines, and the first two
// of them are told then.
func TestUnitSwitchedWithoutAWord(t *testing.T) {
	p := newPeer(t)
	l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
	var want []string
	for i := range 10 {
		want = append(want, fmt.Sprintf("+2.54%d", i%3))
	}
	for i := range 5 {
		want = append(want, fmt.Sprintf("+0.1000%d", i%3))
	}
	p.play([][]byte{[]byte(strings.Join(want, "\r\n") + "\r\n" + last + "\r\n")})
	l.untilRaw(last)
	assert.Equal(t, append(want, last), l.raws())
	assert.Equal(t, frame.FlagUnitChanged, l.all[10].Reading.Flags)
	assert.Zero(t, l.count(EventGarbled))
}

// TestAskedGauge lets a peer answer questions, at times wrongly or not at all.
func TestAskedGauge(t *testing.T) {
	p := newPeer(t)
	prof := Profile{Name: "asked", Mode: ModeAsked, Ask: "R\r", Timeout: Duration(300 * time.Millisecond),
		Interval: Duration(5 * time.Millisecond), Frame: FrameText, Unit: "mm"}
	answers := []string{"+0.100\r\n", "", "+0.2", "+0.300\r\n", "+0.400\r\n", last + "\r\n"}
	heard := make(chan error, 1)
	go func() {
		ask := make([]byte, 16)
		for _, a := range answers {
			if _, err := p.master.Read(ask); err != nil {
				heard <- err
				return
			}
			p.master.Write([]byte(a))
		}
		heard <- nil
	}()
	l := listen(t, prof, PortOpener(p.link, Serial{}))
	l.untilRaw(last)
	require.NoError(t, <-heard)
	assert.Equal(t, []string{"+0.100", "+0.300", "+0.400", last}, l.raws())
	assert.Equal(t, 1, l.count(EventGarbled), "the answer cut short")
}

func TestModbusGauge(t *testing.T) {
	p := newPeer(t)
	prof := profile(t, "modbus-float")
	prof.Interval, prof.Timeout = Duration(5*time.Millisecond), Duration(300*time.Millisecond)
	go func() {
		ask := make([]byte, 16)
		for i := 0; ; i++ {
			if _, err := p.master.Read(ask); err != nil {
				return
			}
			switch i {
			case 1: // busy
				p.master.Write(modbusCRC.Append([]byte{1, 0x84, 6}))
			case 2: // silent
			default:
				p.master.Write(modbusCRC.Append([]byte{1, 4, 4, 0x3E, 0x31, 0xA9, 0xFC}))
			}
		}
	}()
	l := listen(t, prof, PortOpener(p.link, Serial{}))
	for range 3 {
		l.untilKind(EventReading)
	}
	assert.Equal(t, 0.1735, l.all[0].Reading.Value)
	assert.Equal(t, "0104043e31a9fc", l.all[0].Reading.Raw[:14])
	require.Equal(t, 1, l.count(EventGarbled))
	assert.Contains(t, l.all[1].Text, "modbus exception 6 (server device busy)")
}

func TestSeveralGaugesAtOnce(t *testing.T) {
	const gauges, each = 4, 50
	done := make(chan []string, gauges)
	for range gauges {
		p := newPeer(t)
		l := listen(t, profile(t, "text"), PortOpener(p.link, Serial{}))
		go func() {
			for _, line := range textLines(each) {
				p.master.Write([]byte(line + "\r\n"))
			}
			p.master.Write([]byte(last + "\r\n"))
		}()
		go func() {
			var raws []string
			for ev := range l.events {
				raws = append(raws, ev.Reading.Raw)
				if ev.Reading.Raw == last {
					break
				}
			}
			done <- raws
		}()
	}
	for range gauges {
		assert.Equal(t, append(textLines(each), last), <-done)
	}
}
