package device

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
)

// heardFrom plays pieces to a gauge by a false clock, pulls the cable after
// them and returns the events up to then, their times from the start.
func heardFrom(t *testing.T, p Profile, pieces []piece) []Event {
	t.Helper()
	var all []Event
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		port := newPipePort()
		opened := false
		open := func(context.Context) (Port, string, error) {
			if opened {
				return nil, "", &PortError{Port: "port", Reason: PortMissing}
			}
			opened = true
			return port, "port", nil
		}
		start := time.Now()
		out := make(chan Event, 10000)
		done := make(chan error)
		go func() { done <- NewGauge("dial", p, open, time.Now).Run(ctx, out) }()
		for _, a := range pieces {
			time.Sleep(a.after)
			port.in <- []byte(a.bytes)
		}
		time.Sleep(time.Millisecond)
		close(port.in)
		for ev := range out {
			ev.Time = time.Time{}.Add(ev.Time.Sub(start))
			all = append(all, ev)
			if ev.Kind == EventLost {
				break
			}
		}
		cancel()
		require.NoError(t, <-done)
	})
	return all
}

func times(all []Event, k EventKind) []time.Duration {
	var list []time.Duration
	for _, ev := range all {
		if ev.Kind == k {
			list = append(list, ev.Time.Sub(time.Time{}))
		}
	}
	return list
}

// A bridge hands the readings of a fast gauge on sixteen at a time.
func TestReadingsOfOneReadAreSpreadInTime(t *testing.T) {
	const rate, packet, ms = 1000, 16, time.Millisecond
	pieces := []piece{{500 * ms, "+0.001 mm\r\n"}}
	for i := 0; i < 60; i++ {
		var b strings.Builder
		for k := range packet {
			fmt.Fprintf(&b, "%+.3f mm\r\n", float64(i*packet+k)/1000)
		}
		pieces = append(pieces, piece{packet * ms, b.String()})
	}
	all := heardFrom(t, Profile{Frame: FrameText}, pieces)
	at := times(all, EventReading)
	require.Len(t, at, 1+60*packet)
	assert.Equal(t, 500*ms, at[0])
	for i := 1; i < len(at); i++ {
		assert.Greater(t, at[i], at[i-1], "reading %d", i)
		assert.InDelta(t, 500+float64(i), float64(at[i])/1e6, 1, "reading %d in ms", i)
	}
}

func TestReadingsAfterAPauseAreNotSpreadOverIt(t *testing.T) {
	const s = time.Second
	all := heardFrom(t, Profile{Frame: FrameText}, []piece{{s, "+0.1\r\n"}, {8 * s, "+0.2\r\n+0.3\r\n"}})
	at := times(all, EventReading)
	require.Len(t, at, 3)
	assert.Equal(t, 9*s, at[2])
	assert.Greater(t, at[1], 9*s-longestSpread)
}

// A line that breaks a habit is told with the time it arrived, whatever comes
// of it.
func TestLinesKeptBackAreToldWithTheirTime(t *testing.T) {
	const ms = time.Millisecond
	usual := func() []piece {
		var list []piece
		for range 10 {
			list = append(list, piece{30 * ms, "0.120\r\n"})
		}
		return list
	}
	const why = "digits after the decimal mark missing or too many: "
	tests := []struct {
		name    string
		then    []piece
		garbled []string
		at      []time.Duration // of the garbled lines
		silent  int
		last    []time.Duration // of readings after the first ten
	}{
		{"believed", []piece{{30 * ms, "0.5\r\n"}, {30 * ms, "0.6\r\n"}, {30 * ms, "0.7\r\n"}}, nil, nil, 0, []time.Duration{330 * ms, 360 * ms, 390 * ms}},
		{"believed after pauses", []piece{{30 * ms, "0.5\r\n"}, {110 * ms, "0.6\r\n"}, {110 * ms, "0.7\r\n"}}, nil, nil, 0, []time.Duration{330 * ms, 440 * ms, 550 * ms}},
		{"doubted twice", []piece{{30 * ms, "0.5\r\n"}, {30 * ms, "0.6\r\n"}, {30 * ms, "0.121\r\n"}, {30 * ms, "0.5\r\n"}, {30 * ms, "0.122\r\n"}},
			[]string{why + `"0.5"`, why + `"0.6"`, why + `"0.5"`}, []time.Duration{330 * ms, 360 * ms, 420 * ms}, 0, []time.Duration{390 * ms, 450 * ms}},
		{"then the cable is pulled", []piece{{30 * ms, "0.5\r\n"}, {30 * ms, "0.6\r\n"}}, []string{why + `"0.5"`, why + `"0.6"`}, []time.Duration{330 * ms, 360 * ms}, 0, nil},
		{"then silence", []piece{{30 * ms, "0.5\r\n"}, {2000 * ms, "0.121\r\n"}}, []string{why + `"0.5"`}, []time.Duration{330 * ms}, 1, []time.Duration{2330 * ms}},
		{"half a line", []piece{{30 * ms, "0.1"}}, []string{"frame cut short after 3 bytes"}, []time.Duration{331 * ms}, 0, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			all := heardFrom(t, Profile{Frame: FrameText}, append(usual(), tt.then...))
			assert.Equal(t, tt.garbled, texts(all, EventGarbled))
			assert.Equal(t, tt.at, times(all, EventGarbled))
			assert.Len(t, texts(all, EventSilent), tt.silent)
			at := times(all, EventReading)
			require.GreaterOrEqual(t, len(at), 10)
			assert.ElementsMatch(t, tt.last, at[10:])
			assert.Equal(t, EventLost, all[len(all)-1].Kind, "told before the loss")
		})
	}
}

func TestEventsAreToldAtTheEndOfTheRun(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		port := newPipePort()
		open := func(context.Context) (Port, string, error) { return port, "port", nil }
		out := make(chan Event, 100)
		done := make(chan error)
		go func() { done <- NewGauge("dial", Profile{Frame: FrameText}, open, time.Now).Run(ctx, out) }()
		for range 10 {
			time.Sleep(30 * time.Millisecond)
			port.in <- []byte("0.120\r\n")
		}
		port.in <- []byte("0.5\r\n0.6\r\n0.7")
		synctest.Wait()
		cancel()
		require.NoError(t, <-done)
		close(out)
		var all []Event
		for ev := range out {
			all = append(all, ev)
		}
		assert.Len(t, texts(all, EventReading), 10)
		assert.Len(t, texts(all, EventGarbled), 3)
	})
}

func TestGaugeThatSendsOnPress(t *testing.T) {
	const s = time.Second
	presses := []piece{{4 * s, "0.123\r\n"}, {5 * s, "0.130\r\n"}, {6 * s, "0.140\r\n"}, {9 * s, "0.2\r\n"}, {s, "0.150\r\n"}}
	all := heardFrom(t, Profile{Frame: FrameText, Sends: SendsOnPress}, presses)
	assert.Empty(t, texts(all, EventSilent))
	assert.Equal(t, []string{"0.123", "0.130", "0.140", "0.150"}, texts(all, EventReading))
	assert.Equal(t, []string{`digits after the decimal mark missing or too many: "0.2"`}, texts(all, EventGarbled))
	for i, ev := range all[:3] {
		assert.Equal(t, frame.FlagPress, ev.Reading.Flags, "press %d", i)
	}
	// Without the word for it the habit shows after two presses.
	all = heardFrom(t, Profile{Frame: FrameText}, append(presses, presses...))
	assert.LessOrEqual(t, len(texts(all, EventSilent)), 2)
}

func TestHowABrokenFrameIsQuoted(t *testing.T) {
	long := strings.Repeat("x", 61)
	assert.Equal(t, `"`+long[:60]+`"`, quote(&frame.Frame{Raw: []byte(long[:60])}))
	assert.Equal(t, `"`+long[:60]+`"...`, quote(&frame.Frame{Raw: []byte(long)}))
	assert.Equal(t, strings.Repeat("78", 60)+"...", quote(&frame.Frame{Raw: []byte(long), Binary: true}))
}

func TestSilenceSaysForHowLong(t *testing.T) {
	const s = time.Second
	all := heardFrom(t, Profile{Frame: FrameText}, []piece{{s, "0.120\r\n"}, {9 * s, "0.121\r\n"}})
	for _, ev := range all {
		if ev.Kind == EventSilent {
			assert.Regexp(t, `^no reading for 3\.(0\d+|1)s$`, ev.Text)
			assert.WithinDuration(t, time.Time{}.Add(4*s), ev.Time, 2*pollEvery)
		}
	}
	assert.Len(t, texts(all, EventSilent), 1)
}

// The clock of a computer has more digits than a fitter wants to read.
func TestSilenceIsToldInMilliseconds(t *testing.T) {
	g := NewGauge("dial", Profile{Frame: FrameText}, nil, time.Now).voices[0]
	var err error
	g.dec, err = g.profile.NewDecoder()
	require.NoError(t, err)
	out := make(chan Event, 1)
	g.ctx, g.out = t.Context(), out
	start := time.Now()
	g.monitor.opened(start)
	g.stamp = start.Add(3051*time.Millisecond + 499*time.Microsecond)
	g.idle()
	assert.Equal(t, "no reading for 3.051s", (<-out).Text)
}

// A press that breaks a habit has no line after it to wait for: the fitter is
// told at once that it did not count.
func TestABrokenPressIsToldAtOnce(t *testing.T) {
	out := make(chan Event, 9)
	g := NewGauge("wrench", Profile{Frame: FrameText, Sends: SendsOnPress}, nil, time.Now).voices[0]
	g.ctx, g.out = context.Background(), out
	var err error
	g.dec, err = g.profile.NewDecoder()
	require.NoError(t, err)
	g.stamp = g.now()
	g.idle() // quiet before the first press
	g.feed([]byte("0.120\r\n0.130\r\n0.140\r\n0.2\r\n"))
	require.Len(t, out, 3)
	g.idle()
	require.Len(t, out, 4)
	for range 3 {
		assert.Equal(t, EventReading, (<-out).Kind)
	}
	assert.Equal(t, EventGarbled, (<-out).Kind)
}

func TestOverRangeInABrokenFrameIsTold(t *testing.T) {
	all := heardFrom(t, Profile{Frame: FrameText}, []piece{{time.Second, "0.120\r\n"}, {time.Second, "OL\r\n"}, {time.Second, "x\r\n"}})
	var flags []frame.Flags
	for _, ev := range all {
		if ev.Kind == EventGarbled {
			flags = append(flags, ev.Flags)
		}
	}
	assert.Equal(t, []frame.Flags{frame.FlagOverRange, 0}, flags)
}

func TestReasonWhyAPortDoesNotOpenAgainIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		port := newPipePort()
		reasons := []PortReason{"", PortMissing, PortBusy, PortBusy, PortMissing, PortDenied, PortBusy}
		open := func(context.Context) (Port, string, error) {
			why := reasons[0]
			if len(reasons) > 1 {
				reasons = reasons[1:]
			}
			if why == "" {
				return port, "port", nil
			}
			return nil, "", &PortError{Port: "port", Reason: why}
		}
		out := make(chan Event, 100)
		done := make(chan error)
		go func() { done <- NewGauge("dial", Profile{Frame: FrameText}, open, time.Now).Run(ctx, out) }()
		close(port.in)
		time.Sleep(time.Minute)
		cancel()
		require.NoError(t, <-done)
		close(out)
		var said []string
		for ev := range out {
			assert.Equal(t, EventLost, ev.Kind)
			said = append(said, ev.Text)
		}
		assert.Equal(t, []string{`"port": device is gone: EOF`, `"port": port is in use by another program`,
			`"port": no permission to open the port`, `"port": port is in use by another program`}, said)
	})
}

// A stallPort has what was sent until it is read.
type stallPort struct {
	*pipePort
	mu   sync.Mutex
	sent []byte
}

func (p *stallPort) Read(b []byte) (int, error) {
	for end := time.Now().Add(p.timeout); ; time.Sleep(time.Millisecond) {
		p.mu.Lock()
		n := copy(b, p.sent)
		p.sent = p.sent[n:]
		p.mu.Unlock()
		switch {
		case n > 0 || time.Now().After(end):
			return n, nil
		case p.ended():
			return 0, &PortError{Reason: PortClosed}
		}
	}
}

// TestReaderThatStalled holds up the readings of a gauge of 100 Hz for five
// seconds, twice the room of one Read, and wants each stamped when it was sent.
func TestReaderThatStalled(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		port := &stallPort{pipePort: newPipePort()}
		start := time.Now()
		var sender sync.WaitGroup
		defer sender.Wait()
		defer cancel()
		sender.Go(func() {
			for i := 0; ctx.Err() == nil; i++ {
				port.mu.Lock()
				port.sent = fmt.Appendf(port.sent, "%+011.3f mm\r\n", float64(i)/1000) // 16 bytes
				port.mu.Unlock()
				time.Sleep(10 * time.Millisecond)
			}
		})
		out := make(chan Event)
		done := make(chan error, 1)
		open := func(context.Context) (Port, string, error) { return port, "port", nil }
		go func() { done <- NewGauge("dial", Profile{Frame: FrameText}, open, time.Now).Run(ctx, out) }()
		worst, behind := time.Duration(0), 0
		for i := range 1000 {
			if i == 200 {
				time.Sleep(5 * time.Second)
			}
			ev := <-out
			require.Equal(t, EventReading, ev.Kind, ev.Text)
			sent := start.Add(time.Duration(math.Round(ev.Reading.Value*1000)) * 10 * time.Millisecond)
			worst = max(worst, ev.Reading.Time.Sub(sent).Abs())
			if time.Since(sent) > time.Second {
				behind++
			}
		}
		assert.Less(t, worst, 50*time.Millisecond, "the pace is known to a hundredth")
		assert.Greater(t, behind, 254, "more than one Read brings")
		cancel()
		assert.NoError(t, <-done)
	})
}

func (p *stallPort) ended() bool {
	select {
	case <-p.closed:
		return true
	default:
		return false
	}
}
