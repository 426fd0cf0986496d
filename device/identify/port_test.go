package identify

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
)

// A talker is a port whose gauge answers questions, or streams.
type talker struct {
	answer  func(ask []byte) []byte
	streams []byte
	pending []byte
	sent    [][]byte
	timeout time.Duration
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
		time.Sleep(k.timeout)
	}
	return n, nil
}

func (k *talker) Close() error                         { return nil }
func (k *talker) SetReadTimeout(d time.Duration) error { k.timeout = d; return nil }

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
		switch string(ask) {
		case "*IDN?\n":
			return []byte("INVENTED,DIAL,1,0\n")
		case "SYST:ERR?\n":
			return []byte("0,\"No error\"\n")
		case "FETC?\n":
		default:
			return nil
		}
		return []byte(fmt.Sprintf("%+.4E\n", count()))
	}
	modbus := func(ask []byte) []byte {
		if m := (frame.Modbus{Address: 1, Function: 3, Type: "float32"}); !bytes.Equal(ask, m.Request()) {
			return nil // more registers than it has are not answered
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
		{"streams", talker{streams: streams[10].bytes()}, false, device.FrameText, ""},
		{"streams, not asked although it may be", talker{streams: streams[10].bytes()}, true, device.FrameText, ""},
		{"SCPI", talker{answer: scpi}, true, device.FrameText, "FETC?\n"},
		{"Modbus", talker{answer: modbus}, true, device.FrameModbus, string((&frame.Modbus{Address: 1, Function: 3, Type: "float32"}).Request())},
		{"letter", talker{answer: letter}, true, device.FrameText, "R\r\n"},
		{"letter, with an echo", talker{answer: echoing(letter)}, true, device.FrameText, "R\r\n"},
		{"SCPI, with an echo", talker{answer: echoing(scpi)}, true, device.FrameText, "FETC?\n"},
		{"Modbus, with an echo", talker{answer: echoing(modbus)}, true, device.FrameModbus, string((&frame.Modbus{Address: 1, Function: 3, Type: "float32"}).Request())},
		{"silent unless asked", talker{answer: letter}, false, "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				gauge := tt.gauge
				o := Options{MaySend: tt.maySend, Listen: 20 * time.Millisecond, Bauds: []int{19200},
					Open: func(string, device.Serial) (device.Port, error) { return &gauge, nil }}
				found, err := Port(context.Background(), "port", o)
				if !tt.maySend || tt.ask == "" {
					assert.Empty(t, gauge.sent, "nothing is sent without leave or need")
				}
				if tt.frame == "" {
					assert.ErrorAs(t, err, new(*CannotTell))
					return
				}
				require.NoError(t, err)
				require.NotEmpty(t, found)
				p := found[0].Profile
				assert.Equal(t, tt.frame, p.Frame)
				assert.Equal(t, 19200, p.Serial.Baud)
				require.NoError(t, p.Check())
				ask, err := p.Question()
				require.NoError(t, err)
				assert.Equal(t, tt.ask, string(ask))
			})
		})
	}
	t.Run("port fails", func(t *testing.T) {
		o := Options{Open: func(name string, _ device.Serial) (device.Port, error) {
			return nil, &device.PortError{Port: name, Reason: device.PortBusy}
		}}
		_, err := Port(context.Background(), "port", o)
		var pe *device.PortError
		require.True(t, errors.As(err, &pe))
		assert.Equal(t, device.PortBusy, pe.Reason)
	})
}

// A dripper is a port whose gauge sends the next of its frames every so often.
type dripper struct {
	every   time.Duration
	frame   func(i int) []byte
	sent    int
	next    time.Time
	timeout time.Duration
	closed  chan struct{}
	close   func()
}

func newDripper(every time.Duration, frame func(i int) []byte) *dripper {
	d := &dripper{every: every, frame: frame, next: time.Now().Add(every), closed: make(chan struct{})}
	d.close = sync.OnceFunc(func() { close(d.closed) })
	return d
}

func (d *dripper) Read(b []byte) (int, error) {
	wait := min(d.timeout, time.Until(d.next))
	select {
	case <-d.closed:
		return 0, &device.PortError{Reason: device.PortClosed}
	case <-time.After(wait):
	}
	if time.Until(d.next) > 0 {
		return 0, nil
	}
	d.next = d.next.Add(d.every)
	d.sent++
	return copy(b, d.frame(d.sent)), nil
}

func (d *dripper) Write(b []byte) (int, error)                { return len(b), nil }
func (d *dripper) Close() error                               { d.close(); return nil }
func (d *dripper) SetReadTimeout(timeout time.Duration) error { d.timeout = timeout; return nil }

func (d *dripper) open(string, device.Serial) (device.Port, error) { return d, nil }

func TestWhatWasHeardBecomesAFile(t *testing.T) {
	var said []string
	found, err := Port(context.Background(), "port", Options{Listen: 20 * time.Millisecond,
		Open:     func(string, device.Serial) (device.Port, error) { return &talker{streams: streams[10].bytes()}, nil },
		Progress: func(text string) { said = append(said, text) }})
	require.NoError(t, err)
	require.NotEmpty(t, found)
	assert.Equal(t, []string{"listening at 9600 baud"}, said)
	assert.Zero(t, found[0].Rate, "what one Read brings does not tell the rate")
	var file bytes.Buffer
	require.NoError(t, found[0].Profile.WriteTOML(&file))
	assert.Equal(t, `name = 'heard-text'
title = 'text lines, found by listening'
quantity = 'length'
unit = 'mm'
resolution = 0.001
frame = 'text'

[serial]
baud = 9600

[text]
line_end = 'crlf'
decimal = 'point'
`, file.String())
}

// At two lines a second the usual time is too short.
func TestASlowGaugeIsWaitedFor(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		swings := swing(60)
		d := newDripper(500*time.Millisecond, func(i int) []byte { return streams[10].make(i, swings[i%60]) })
		var said []string
		found, err := Port(context.Background(), "port", Options{Bauds: []int{9600}, Open: d.open,
			Progress: func(text string) { said = append(said, text) }})
		require.NoError(t, err)
		require.NotEmpty(t, found)
		assert.Equal(t, "mm", found[0].Profile.Unit)
		assert.InDelta(t, 2, found[0].Rate, 0.6, "readings a second")
		assert.Equal(t, []string{"listening at 9600 baud", "a slow gauge, listening on; if it sends at a press of its key, press it"}, said)
	})
}

// Three times more is enough for a gauge that makes no sense, and a talkative
// one is not waited for.
func TestWaitingForASlowGaugeHasAnEnd(t *testing.T) {
	for _, tt := range []struct {
		bytes, times int
		send         byte
		why          string
	}{
		{1, 3, 'Z', "only 1 lines came, and 6 are needed"}, {130, 0, 'Z', "bytes were heard on \"port\" and fit no known form"}, {1, 1, 0x9a, "bytes were heard on \"port\" and fit no known form"},
	} {
		synctest.Test(t, func(t *testing.T) {
			d := newDripper(time.Second, func(int) []byte { return bytes.Repeat([]byte{tt.send}, tt.bytes) })
			more := 0
			_, err := Port(context.Background(), "port", Options{Bauds: []int{9600}, Listen: 2500 * time.Millisecond, Open: d.open,
				Progress: func(text string) {
					if text == "a slow gauge, listening on; if it sends at a press of its key, press it" {
						more++
					}
				}})
			require.ErrorAs(t, err, new(*CannotTell))
			assert.Equal(t, tt.times, more)
			assert.Contains(t, err.Error(), tt.why)
		})
	}
}

// A silent gauge: what is tried, in which order, and how often each question
// is sent.
func TestWhatIsTriedOnASilentGauge(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		try := func(o Options) (said []string, opened []device.Serial, sent []string) {
			o.Listen = 10 * time.Millisecond
			o.Progress = func(text string) { said = append(said, text) }
			o.Open = func(_ string, s device.Serial) (device.Port, error) {
				opened = append(opened, s)
				return &talker{answer: func(ask []byte) []byte { sent = append(sent, string(ask)); return nil }}, nil
			}
			_, err := Port(context.Background(), "port", o)
			require.ErrorAs(t, err, new(*CannotTell))
			assert.Contains(t, err.Error(), "nothing was heard on \"port\"")
			return said, opened, sent
		}
		said, opened, sent := try(Options{})
		assert.Equal(t, []string{"listening at 9600 baud", "listening at 115200 baud", "listening at 19200 baud", "listening at 38400 baud",
			"listening at 57600 baud", "listening at 4800 baud", "listening at 2400 baud", "listening at 1200 baud"}, said)
		assert.Equal(t, device.Serial{Baud: 1200}, opened[7])
		assert.Empty(t, sent)
		said, opened, sent = try(Options{MaySend: true, Bauds: []int{19200}})
		assert.Equal(t, []string{"listening at 19200 baud", "asking Modbus devices at 19200 baud",
			`asking "?\r" at 19200 baud`, `asking "\r\n" at 19200 baud`, `asking "R\r\n" at 19200 baud`, `asking "D\r\n" at 19200 baud`,
			"asking Modbus devices at 19200 baud"}, said)
		assert.Equal(t, []device.Serial{{Baud: 19200}, {Baud: 19200, Parity: "even"}}, opened)
		scan := len(usualAddresses)
		require.Len(t, sent, 1+scan+2*4+scan)
		assert.Equal(t, "*IDN?\n", sent[0], "before all else")
		assert.Equal(t, string(modbusCRC.Append([]byte{1, 3, 0, 0, 0, 2})), sent[1])
		assert.Equal(t, string(modbusCRC.Append([]byte{247, 3, 0, 0, 0, 2})), sent[scan])
		assert.Equal(t, []string{"?\r", "?\r", "\r\n", "\r\n", "R\r\n", "R\r\n", "D\r\n", "D\r\n"}, sent[1+scan:9+scan], "letters last")
	})
}

// A failing port ends the search with its error.
func TestAPortThatFailsEndsTheSearch(t *testing.T) {
	for _, tt := range []struct {
		name                string
		reads, writes, sets int // how many succeed
		want                string
	}{
		{"read while listening", 0, 99, 99, "read"}, {"timeout while listening", 99, 99, 0, "set"},
		{"write of a question", 2, 0, 99, "write"}, {"read of an answer", 2, 99, 99, "read"}, {"timeout of an answer", 99, 99, 2, "set"},
		{"write of a Modbus question", 99, 1, 99, "write"}, {"write of a letter", 999, 16, 999, "write"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				p := &failingPort{reads: tt.reads, writes: tt.writes, sets: tt.sets}
				_, err := Port(context.Background(), "port", Options{MaySend: true, Bauds: []int{9600}, Listen: 90 * time.Millisecond,
					Open: func(string, device.Serial) (device.Port, error) { return p, nil }})
				assert.EqualError(t, err, tt.want)
			})
		})
	}
}

// A failingPort hears nothing and fails after so many calls.
type failingPort struct {
	reads, writes, sets int
	timeout             time.Duration
}

func (p *failingPort) Read([]byte) (int, error) {
	if p.reads--; p.reads < 0 {
		return 0, errors.New("read")
	}
	time.Sleep(p.timeout)
	return 0, nil
}

func (p *failingPort) Write(b []byte) (int, error) {
	if p.writes--; p.writes < 0 {
		return 0, errors.New("write")
	}
	return len(b), nil
}

func (p *failingPort) SetReadTimeout(d time.Duration) error {
	if p.sets--; p.sets < 0 {
		return errors.New("set")
	}
	p.timeout = d
	return nil
}

func (p *failingPort) Close() error { return nil }

func TestPortEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
		defer cancel()
		d := newDripper(time.Hour, nil)
		_, err := Port(ctx, "port", Options{Listen: time.Minute, Open: d.open})
		assert.ErrorIs(t, err, context.DeadlineExceeded)
	})
}

func TestPortIsOpenedAsASerialOne(t *testing.T) {
	_, err := Port(context.Background(), filepath.Join(t.TempDir(), "none"), Options{})
	assert.ErrorIs(t, err, &device.PortError{Reason: device.PortMissing})
}

// A bridge whose line is set by itself is heard at one speed: the others are its own.
func TestOneSpeedWhereTheLineIsSetElsewhere(t *testing.T) {
	for name, want := range map[string]int{"tcp://host:1": 1, "rfc2217://host:1": len(commonBauds)} {
		synctest.Test(t, func(t *testing.T) {
			opened := 0
			_, err := Port(context.Background(), name, Options{Listen: time.Second,
				Open: func(string, device.Serial) (device.Port, error) { opened++; return &talker{}, nil }})
			assert.ErrorAs(t, err, new(*CannotTell))
			assert.Equal(t, want, opened, name)
		})
	}
}
