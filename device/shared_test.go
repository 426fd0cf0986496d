//go:build unix

package device

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
)

// A gaugeOnBus answers its question after a time that depends on how often it was
// asked; less than zero is never.
type gaugeOnBus struct {
	profile Profile
	answer  string
	after   func(n int) time.Duration
	asked   int
}

func always(d time.Duration) func(int) time.Duration { return func(int) time.Duration { return d } }

// heardOnBus runs the gauges on one port for a time of the false clock and returns
// the events of each.
func heardOnBus(t *testing.T, d time.Duration, gauges map[string]*gaugeOnBus) map[string][]Event {
	t.Helper()
	heard := map[string][]Event{}
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(context.Background(), d)
		defer cancel()
		open := func(context.Context) (Port, string, error) {
			return &askedPort{newPipePort(), func(ask []byte) []piece {
				for _, g := range gauges {
					if q, _ := g.profile.Question(); string(q) == string(ask) {
						g.asked++
						if after := g.after(g.asked); after >= 0 {
							return []piece{{after, g.answer}}
						}
					}
				}
				return nil
			}}, "bus", nil
		}
		var g *Gauge
		for _, label := range slices.Sorted(maps.Keys(gauges)) {
			if p := gauges[label].profile; g == nil {
				g = NewGauge(label, p, open, time.Now)
			} else {
				require.NoError(t, g.voices[0].profile.Beside(p))
				g.Add(label, p)
			}
		}
		out := make(chan Event, 10000)
		require.NoError(t, g.Run(ctx, out))
		close(out)
		for ev := range out {
			heard[ev.Gauge] = append(heard[ev.Gauge], ev)
		}
	})
	return heard
}

func onBus(ask string) Profile {
	p := askedText
	p.Ask = ask
	return p
}

func modbusAt(address int) Profile {
	return Profile{Name: "m", Frame: FrameModbus, Mode: ModeAsked, Timeout: askedText.Timeout, Interval: askedText.Interval,
		Modbus: &frame.Modbus{Address: address, Function: 4, Type: "int16"}}
}

func TestGaugesOnOnePortTakeTurns(t *testing.T) {
	ms := time.Millisecond
	heard := heardOnBus(t, 1050*ms, map[string]*gaugeOnBus{
		"a":  {profile: onBus("A?\r"), answer: "0.111\r\n", after: always(10 * ms)},
		"b":  {profile: onBus("B?\r"), answer: "0.222\r\n", after: always(20 * ms)},
		"m1": {profile: modbusAt(1), answer: modbusAnswer("\x01\x04\x02\x00\x7b"), after: always(5 * ms)},
		"m2": {profile: modbusAt(2), answer: modbusAnswer("\x02\x04\x02\x01\x41"), after: always(5 * ms)},
	})
	for label, want := range map[string]float64{"a": 0.111, "b": 0.222, "m1": 123, "m2": 321} {
		require.GreaterOrEqual(t, len(heard[label]), 10, label)
		for _, ev := range heard[label] {
			assert.Equal(t, EventReading, ev.Kind, "%s: %s", label, ev.Text)
			assert.Equal(t, want, ev.Reading.Value, label)
		}
	}
}

// On a real terminal, where one asks too soon and answers would run into each other.
func TestModbusGaugesOnOneTerminal(t *testing.T) {
	p := newPeer(t)
	l := &listener{t: t, events: make(chan Event, 16)}
	g := NewGauge("1", modbusAt(1), PortOpener(p.link, Serial{}), time.Now)
	g.Add("2", modbusAt(2))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- g.Run(ctx, l.events) }()
	master := p.master // that of the first terminal
	go func() {
		ask := make([]byte, 16)
		for {
			n, err := master.Read(ask)
			if err != nil {
				return
			}
			answer := []byte(modbusAnswer(string([]byte{ask[0], 4, 2, 0, ask[0] * 11})))
			if n != 8 { // two questions at once collide
				answer = []byte{0xff}
			}
			for _, b := range answer {
				master.Write([]byte{b})
			}
		}
	}()
	for range 10 {
		l.until(func(ev Event) bool { return ev.Reading.Value == 11 })
		l.until(func(ev Event) bool { return ev.Reading.Value == 22 })
	}
	p.unplug()
	l.untilKind(EventLost)
	l.untilKind(EventLost)
	p.plug()
	l.untilKind(EventBack)
	l.untilKind(EventBack)
	cancel()
	require.NoError(t, <-done)
	for _, ev := range l.all {
		if ev.Kind == EventReading {
			assert.Equal(t, map[string]float64{"1": 11, "2": 22}[ev.Gauge], ev.Reading.Value)
		}
		assert.NotEqual(t, EventGarbled, ev.Kind, ev.Text)
	}
}

// What one answers late is neither another's reading nor its own next one's cost.
func TestALateAnswerIsNotAnothers(t *testing.T) {
	ms := time.Millisecond
	for name, after := range map[string]func(int) time.Duration{
		"always":    always(900 * ms),
		"at times":  func(n int) time.Duration { return time.Duration(n%4) * 300 * ms },
		"never":     always(-1),
		"very late": always(1500 * ms),
		"crossing":  func(n int) time.Duration { return []time.Duration{550 * ms, 2200 * ms}[n%2] },
	} {
		t.Run(name, func(t *testing.T) {
			heard := heardOnBus(t, 60*time.Second, map[string]*gaugeOnBus{
				"late":   {profile: onBus("A?\r"), answer: "0.111\r\n", after: after},
				"prompt": {profile: onBus("B?\r"), answer: "0.222\r\n", after: always(150 * ms)},
			})
			for _, r := range texts(heard["prompt"], EventReading) {
				assert.Equal(t, "0.222", r)
			}
			assert.Greater(t, len(texts(heard["prompt"], EventReading)), 25, "one that is late holds the others up, and not for good")
			assert.Empty(t, texts(heard["prompt"], EventSilent))
			assert.Empty(t, texts(heard["prompt"], EventGarbled))
			for _, r := range texts(heard["late"], EventReading) {
				assert.Equal(t, "0.111", r)
			}
			if name == "never" {
				assert.Len(t, texts(heard["late"], EventSilent), 1)
			}
		})
	}
}

// A multiplexer sends the lines of several gauges in one stream.
func TestChannelsOfAMultiplexer(t *testing.T) {
	of := func(channel string) Profile {
		return Profile{Name: "mux", Frame: FrameText, Text: &frame.Text{Channel: channel}}
	}
	require.NoError(t, of("1").Check())
	require.NoError(t, of("1").Beside(of("2")))
	p := newPeer(t)
	l := &listener{t: t, events: make(chan Event, 16)}
	g := NewGauge("1", of("1"), PortOpener(p.link, Serial{}), time.Now)
	g.Add("12", of("12"))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- g.Run(ctx, l.events) }()
	var b strings.Builder
	b.WriteString("2: 9.999 mm\r\n1: 8.888 mm\r\n") // the end of a line of 12, and one that cannot be told from such
	for i := range 5 {
		fmt.Fprintf(&b, "1: 0.10%d mm\r\n3: 7.777 kPa\r\n12: 20.%d kPa\r\n12: broken\r\n", i, i)
	}
	p.play([][]byte{[]byte(b.String() + "1: 0.500 mm\r\n12: 99.0 kPa\r\n")})
	l.until(func(ev Event) bool { return ev.Reading.Value == 99 })
	cancel()
	require.NoError(t, <-done)
	got := map[string][]string{}
	for _, ev := range l.all {
		got[ev.Gauge+" "+ev.Kind.String()] = append(got[ev.Gauge+" "+ev.Kind.String()], ev.Reading.Raw+ev.Text)
	}
	assert.Equal(t, []string{"1: 0.100 mm", "1: 0.101 mm", "1: 0.102 mm", "1: 0.103 mm", "1: 0.104 mm", "1: 0.500 mm"}, got["1 reading"])
	assert.Equal(t, []string{`first line may be cut: "1: 8.888 mm"`}, got["1 garbled"])
	assert.Equal(t, []string{"12: 20.1 kPa", "12: 20.2 kPa", "12: 20.3 kPa", "12: 20.4 kPa", "12: 99.0 kPa"}, got["12 reading"])
	assert.Len(t, got["12 garbled"], 6)
}

func TestWhatMayBeOnOnePort(t *testing.T) {
	channel := func(c string) Profile { return Profile{Frame: FrameText, Text: &frame.Text{Channel: c}} }
	slow := onBus("B?\r")
	slow.Serial.Baud = 1200
	named := onBus("B?\r")
	named.Serial = Serial{Baud: 9600, DataBits: 8, Parity: "none", StopBits: "1", Flow: "none"}
	stream := Profile{Frame: FrameText}
	for _, c := range []struct {
		p, q Profile
		want string
	}{
		{modbusAt(1), modbusAt(2), ""},
		{modbusAt(1), onBus("A?\r"), ""},
		{onBus("A?\r"), named, ""},
		{channel("1"), channel("2"), ""},
		{onBus("A?\r"), slow, "their tables [serial] differ"},
		{modbusAt(1), modbusAt(1), "both are asked the same"},
		{modbusAt(1), stream, "one is asked, the other sends by itself"},
		{stream, channel("1"), "each needs a channel of its own"},
		{channel("1"), channel("1"), "each needs a channel of its own"},
	} {
		err := c.p.Beside(c.q)
		assert.Equal(t, err, c.q.Beside(c.p))
		if c.want == "" {
			assert.NoError(t, err)
		} else {
			assert.EqualError(t, err, c.want)
		}
	}
}
