package device

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
)

// A piece is part of an answer, sent a time after the part before.
type piece struct {
	after time.Duration
	bytes string
}

// An askedPort is a port whose gauge answers each question in pieces.
type askedPort struct {
	*pipePort
	answer func(ask []byte) []piece
}

func (p *askedPort) Write(b []byte) (int, error) {
	pieces := p.answer(b)
	go func() {
		for _, a := range pieces {
			select {
			case <-time.After(a.after):
			case <-p.closed:
				return
			}
			select {
			case p.in <- []byte(a.bytes):
			case <-p.closed:
				return
			}
		}
	}()
	return len(b), nil
}

// askFor lets a gauge be asked for a time of the false clock and returns its
// events.
func askedFor(t *testing.T, p Profile, d time.Duration, answer func(ask []byte) []piece) []Event {
	t.Helper()
	require.NoError(t, p.Check())
	var all []Event
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(context.Background(), d)
		defer cancel()
		port := &askedPort{newPipePort(), answer}
		open := func(context.Context) (Port, string, error) { return port, "port", nil }
		out := make(chan Event, 1000)
		require.NoError(t, NewGauge("dial", p, open, time.Now).Run(ctx, out))
		close(out)
		for ev := range out {
			all = append(all, ev)
		}
	})
	return all
}

// texts returns what the events of a kind say, the raw text of readings.
func texts(all []Event, k EventKind) []string {
	var list []string
	for _, ev := range all {
		if ev.Kind == k {
			list = append(list, ev.Text+ev.Reading.Raw)
		}
	}
	return list
}

var askedText = Profile{Name: "asked", Frame: FrameText, Mode: ModeAsked, Ask: "?\r", Unit: "mm",
	Timeout: Duration(300 * time.Millisecond), Interval: Duration(100 * time.Millisecond)}

var modbusCRC, _ = frame.ChecksumNamed("crc16-modbus")

func modbusAnswer(f string) string {
	return string(modbusCRC.Append([]byte(f)))
}

func TestWhatAnswersAQuestion(t *testing.T) {
	for _, tt := range []struct {
		name           string
		f              frame.Frame
		echo, answered bool
	}{
		{"value", frame.Frame{Raw: []byte("0.1")}, false, true},
		{"refusal", frame.Frame{Raw: []byte("0.1"), Bad: "x", Refused: true}, false, true},
		{"over range", frame.Frame{Raw: []byte("OL"), Bad: "over range", Flags: frame.FlagOverRange}, false, true},
		{"broken", frame.Frame{Raw: []byte("0.1"), Bad: "x", Flags: frame.FlagHold}, false, false},
		{"echo", frame.Frame{Raw: []byte("? "), Bad: "x"}, true, false},
	} {
		a, err := newPoller(askedText)
		require.NoError(t, err)
		a.fresh = true
		assert.Equal(t, tt.echo, a.observe(&tt.f), tt.name)
		assert.Equal(t, tt.answered, a.answered, tt.name)
		assert.Equal(t, !tt.answered && !tt.echo, a.broken, tt.name)
		assert.False(t, a.observe(&frame.Frame{Raw: []byte("?")}), "only the first frame may be the echo")
	}
}

func TestWhatComesBesideAnAnswer(t *testing.T) {
	ms := time.Millisecond
	modbus := Profile{Name: "asked", Frame: FrameModbus, Mode: ModeAsked, Modbus: &frame.Modbus{Address: 1, Function: 4, Type: "int16"},
		Timeout: askedText.Timeout, Interval: askedText.Interval}
	packed := Profile{Name: "asked", Frame: FramePacked, Mode: ModeAsked, AskHex: "A1 A2", Timeout: askedText.Timeout, Interval: askedText.Interval,
		Packed: &frame.Packed{Length: 4, Header: "AA", At: 1, Size: 2, Type: "uint", Checksum: "sum8"}}
	sound := modbusAnswer("\x01\x04\x02\x00\x7b")
	const packedAnswer = "\xaa\x00\x7b\x25" // 123 and the sum of the bytes
	scpi := Profile{Name: "asked", Frame: FrameSCPI, Mode: ModeAsked, SCPI: &frame.SCPI{Query: "READ?"}, Timeout: askedText.Timeout, Interval: askedText.Interval}
	tests := []struct {
		name    string
		profile Profile
		pieces  []piece
		garbled string // what each answer is accompanied by; "": nothing
	}{
		{"nothing", askedText, []piece{{ms, "0.123\r\n"}}, ""},
		{"echo", askedText, []piece{{0, "?\r\n"}, {20 * ms, "0.123\r\n"}}, ""},
		{"echo and answer at once", askedText, []piece{{0, "?\r0.123\r\n"}}, ""},
		{"echo, its line feed late", askedText, []piece{{0, "?\r"}, {20 * ms, "\n0.123\r\n"}}, ""},
		{"echo of an SCPI query", scpi, []piece{{0, "READ?\n"}, {20 * ms, "0.123\n"}}, ""},
		{"echo of binary bytes", packed, []piece{{0, "\xa1\xa2"}, {20 * ms, packedAnswer}}, ""},
		{"echo of Modbus", modbus, []piece{{0, string(modbus.Modbus.Request())}, {20 * ms, sound}}, ""},
		{"a broken line first", askedText, []piece{{0, "\x00\xff\r\n"}, {20 * ms, "0.123\r\n"}}, `NUL in the line (parity or break error): "\x00\xff"`},
		{"noise before a Modbus answer", modbus, []piece{{0, "UUUUUUU"}, {20 * ms, sound}}, "bytes that are no sound frame: 55555555555555"},
		{"bytes behind a Modbus answer", modbus, []piece{{0, sound + "\x01\x04"}}, "2 bytes after the answer"},
		{"bytes in the pause", modbus, []piece{{0, sound}, {50 * ms, "\x55"}}, "1 byte that answer no question: 55"},
		{"a line feed is a byte of a binary gauge", modbus, []piece{{0, sound}, {50 * ms, "\n"}}, "1 byte that answer no question: 0a"},
		{"line feed after the answer", askedText, []piece{{0, "0.123\r"}, {50 * ms, "\n"}}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			all := askedFor(t, tt.profile, 1050*ms, func([]byte) []piece { return tt.pieces })
			readings := texts(all, EventReading)
			assert.GreaterOrEqual(t, len(readings), 9, "one answer a question: %v", all)
			garbled := texts(all, EventGarbled)
			if tt.garbled == "" {
				assert.Empty(t, garbled)
				return
			}
			assert.GreaterOrEqual(t, len(garbled), 9)
			for _, g := range garbled {
				assert.Equal(t, tt.garbled, g)
			}
		})
	}
}

func TestEchoIsNoReading(t *testing.T) {
	p := askedText
	p.Ask = "1\r\n"
	all := askedFor(t, p, time.Second, func([]byte) []piece { return []piece{{0, "1\r\n"}, {time.Millisecond, "0.25\r\n"}} })
	for _, raw := range texts(all, EventReading) {
		assert.Equal(t, "0.25", raw)
	}
}

func TestLateAnswersAreTakenAndTold(t *testing.T) {
	all := askedFor(t, askedText, 4*time.Second, func([]byte) []piece { return []piece{{350 * time.Millisecond, "0.123\r\n"}} })
	assert.GreaterOrEqual(t, len(texts(all, EventReading)), 8)
	assert.Equal(t, []string{"an answer came 350ms after its question, later than the timeout of 300ms: set a longer timeout in the gauge profile"},
		texts(all, EventGarbled))
}

func TestBrokenAnswersCostOneTimeoutEach(t *testing.T) {
	all := askedFor(t, askedText, 3050*time.Millisecond, func([]byte) []piece { return []piece{{0, "Err 02\r\n"}} })
	assert.InDelta(t, 10, len(texts(all, EventGarbled)), 1)
	assert.Empty(t, texts(all, EventSilent))
}

func TestSlowAnswersAreNoSilence(t *testing.T) {
	p := askedText
	p.Timeout = Duration(2 * time.Second)
	all := askedFor(t, p, 8*time.Second, func([]byte) []piece { return []piece{{700 * time.Millisecond, "0.123\r\n"}} })
	assert.GreaterOrEqual(t, len(texts(all, EventReading)), 9)
	assert.Empty(t, texts(all, EventSilent))
	all = askedFor(t, p, 8*time.Second, func([]byte) []piece { return nil })
	assert.Len(t, texts(all, EventSilent), 1)
}

// A port that fails in the pause before the question is not asked, and opened
// again.
func TestAPortThatFailsBeforeTheQuestionIsNotAsked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		asked := 0
		port := &askedPort{newPipePort(), func([]byte) []piece { asked++; return nil }}
		close(port.in)
		open := func(context.Context) (Port, string, error) { return port, "port", nil }
		out := make(chan Event)
		done := make(chan error)
		go func() { done <- NewGauge("dial", askedText, open, time.Now).Run(ctx, out) }()
		assert.Equal(t, EventLost, (<-out).Kind)
		assert.Zero(t, asked)
		cancel()
		require.NoError(t, <-done)
	})
}
