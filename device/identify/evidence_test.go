package identify

import (
	"bytes"
	"context"
	"encoding/binary"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
)

func TestParityOfSevenBits(t *testing.T) {
	mark := func(wrong int) []byte { // 'a' has an odd count of ones, 'c' an even one
		b := bytes.Repeat([]byte{'a' | 0x80, 'c' | 0x80}, 50)
		for i := range wrong {
			b[i] &= 0x7F
		}
		return b
	}
	for _, tt := range []struct {
		name   string
		in     []byte
		parity string // "": none
	}{
		{"no top bit", []byte("0.123 mm\r\n"), ""},
		{"NUL with mark", bytes.Repeat([]byte{0x80}, 60), "mark"},
		{"mark, two of a hundred wrong", mark(2), "mark"},
		{"mark, three of a hundred wrong", mark(3), ""},
		{"even", []byte{'a' | 0x80, 'c'}, "even"},
		{"odd", []byte{'a', 'c' | 0x80}, "odd"},
		{"neither", []byte{'a', 'c' | 0x80, 'a' | 0x80, 'c'}, ""},
	} {
		text, parity := sevenBits(tt.in)
		assert.Equal(t, tt.parity, parity, tt.name)
		for i := range text {
			assert.Equal(t, tt.in[i]&0x7F, text[i], tt.name)
		}
	}
}

// Twelve packed frames in a row are just enough.
func TestLeastPackedFrames(t *testing.T) {
	for n, want := range map[int]int{windowFrames - 1: 0, windowFrames: 1} {
		var b []byte
		for i := range n {
			b = append(b, sealed("sum8", append([]byte{0xAA}, bcd(10+i*i, 3)...))...)
		}
		assert.Equal(t, want, min(len(Bytes(b, 0)), 1), "%d frames", n)
	}
}

// A value may begin with any byte, as long as that moves with it.
func TestPackedValueWithABusyHead(t *testing.T) {
	var b []byte
	counts := rocking(60)
	for _, c := range counts {
		b = append(b, sealed("lrc", binary.BigEndian.AppendUint16([]byte{0x55}, uint16(400+3*c)))...)
	}
	found := Bytes(b, 0)
	require.NotEmpty(t, found)
	d, err := found[0].Profile.NewDecoder()
	require.NoError(t, err)
	i := 0
	d.Feed(time.Time{}, b, func(f *frame.Frame) {
		require.Equal(t, float64(400+3*counts[i]), f.Value)
		i++
	})
	assert.Equal(t, len(counts), i)
}

// A scripted port receives its pieces at their times, in ms after the question.
type scripted struct {
	failingPort
	pieces []piece
	asked  time.Time
}

type piece struct {
	at   time.Duration
	text string
}

func (p *scripted) Write(b []byte) (int, error) { p.asked = time.Now(); return len(b), nil }

func (p *scripted) SetReadTimeout(d time.Duration) error { p.timeout = d; return nil }

func (p *scripted) Read(b []byte) (int, error) {
	if len(p.pieces) == 0 || time.Until(p.asked.Add(p.pieces[0].at)) > p.timeout {
		time.Sleep(p.timeout)
		return 0, nil
	}
	time.Sleep(time.Until(p.asked.Add(p.pieces[0].at)))
	n := copy(b, p.pieces[0].text)
	p.pieces = p.pieces[1:]
	return n, nil
}

func TestAnAnswerMayComeLateAndInPieces(t *testing.T) {
	const ms = time.Millisecond
	for _, tt := range []struct {
		name   string
		pieces []piece
		want   string
	}{
		{"late", []piece{{290 * ms, "0.123\r"}}, "0.123\r"},
		{"too late", []piece{{310 * ms, "0.123\r"}}, ""},
		{"in pieces", []piece{{5 * ms, "0."}, {20 * ms, "123"}, {39 * ms, "\r"}}, "0.123\r"},
		{"after a pause it is another", []piece{{5 * ms, "0.1\r"}, {30 * ms, "0.2\r"}}, "0.1\r"},
		{"echo, and the answer after a pause", []piece{{2 * ms, "R"}, {4 * ms, "\r\n"}, {150 * ms, "0.123\r"}}, "0.123\r"},
		{"echo alone", []piece{{2 * ms, "R\r\n"}}, ""},
	} {
		synctest.Test(t, func(t *testing.T) {
			p := &scripted{pieces: tt.pieces}
			a := session{port: p}
			got := a.answerTo([]byte("R\r\n"), answerWait)
			require.NoError(t, a.err)
			assert.Equal(t, tt.want, string(got), tt.name)
		})
	}
}

// onePort identifies one gauge at one speed, which may be asked.
func onePort(gauge *talker, parity string) ([]Proposal, error) {
	return Port(context.Background(), "port", Options{MaySend: true, Listen: 20 * time.Millisecond, Bauds: []int{9600},
		Open: func(_ string, s device.Serial) (device.Port, error) {
			if s.Parity != parity {
				return &talker{}, nil
			}
			return gauge, nil
		}})
}

func TestOneByteHeardIsNotAskedOver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		gauge := &talker{streams: []byte("\x80")}
		_, err := onePort(gauge, "")
		assert.EqualError(t, err, `cannot tell what the gauge sends: 1 bytes were heard on "port" and fit no known form at any speed`)
		assert.Empty(t, gauge.sent)
	})
}

func TestAnswersThatMakeNoSenseStopTheSearch(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		_, err := onePort(&talker{answer: func(ask []byte) []byte {
			if string(ask) == "R\r\n" {
				return []byte("what?\r\n")
			}
			return nil
		}}, "")
		assert.EqualError(t, err, `cannot tell what the gauge sends: 11 lines of clean text came, and no number in them can be told to be the value`)
		var why *CannotTell
		require.ErrorAs(t, err, &why)
		assert.Equal(t, "what?", why.Lines[0])
	})
}

// An answer in the form of another question is none to this one.
func TestTheQuestionBelongsToTheAnswer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		counts, next := swing(60), 0
		gauge := &talker{answer: func(ask []byte) []byte {
			if len(ask) != 8 || ask[0] != 1 || ask[1] != 3 || ask[3] != 0 || ask[5] > 2 {
				return nil
			}
			next++
			return modbusFloat(1, 3, false)(0, counts[next%60])
		}}
		found, err := onePort(gauge, "even")
		require.NoError(t, err)
		require.NotEmpty(t, found)
		ask, err := found[0].Profile.Question()
		require.NoError(t, err)
		assert.Equal(t, (&frame.Modbus{Address: 1, Function: 3, Type: "float32"}).Request(), ask)
		assert.Equal(t, ask, gauge.sent[len(gauge.sent)-1])
		assert.Equal(t, device.Serial{Baud: 9600, Parity: "even"}, found[0].Profile.Serial)
	})
}
