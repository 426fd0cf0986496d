package device

import (
	"context"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
)

// A bus is an invented set of plugged-in devices by port name.
type bus map[string]PortInfo

// plug puts a cable of a kind into a socket, under the name that is free.
func (b bus) plug(name, serial, socket string) {
	b[name] = PortInfo{Name: name, USB: true, Vendor: "0403", Product: "6001", Serial: serial, Path: socket}
}

func (b bus) follower(name string) *follower {
	return &follower{
		name: name,
		info: func(path string) (PortInfo, bool) { p, ok := b[path]; return p, ok },
		list: func() ([]PortInfo, error) { return slices.Collect(maps.Values(b)), nil },
		open: func(path string, _ origin) (Port, origin, error) {
			if _, ok := b[path]; !ok {
				return nil, origin{}, &PortError{Port: path, Reason: PortMissing}
			}
			return newPipePort(), origin{}, nil
		},
	}
}

// TestFollowsADeviceByItsIdentity pulls a cable and puts cables back.
func TestFollowsADeviceByItsIdentity(t *testing.T) {
	const first, second, third = "/dev/ttyUSB0", "/dev/ttyUSB1", "/dev/ttyUSB2"
	for _, tt := range []struct {
		name          string
		before, after func(b bus)
		want          string // the port that is opened again, "": none
		reason        PortReason
	}{
		{"same name", func(b bus) { b.plug(first, "A1", "1-1:1.0") }, func(b bus) { b.plug(first, "A1", "1-1:1.0") }, first, ""},
		{"not there", func(b bus) { b.plug(first, "A1", "1-1:1.0") }, func(bus) {}, "", PortMissing},
		{"another gauge took the name", func(b bus) { b.plug(first, "A1", "1-1:1.0") }, func(b bus) { b.plug(first, "B2", "1-2:1.0") }, "", PortMissing},
		{"another name and socket", func(b bus) { b.plug(first, "A1", "1-1:1.0") },
			func(b bus) { b.plug(first, "B2", "1-1:1.0"); b.plug(second, "A1", "1-2:1.0") }, second, ""},
		{"the other port of the same cable", func(b bus) { b.plug(first, "A1", "1-1:1.0") }, func(b bus) { b.plug(first, "A1", "1-1:1.1") }, "", PortMissing},
		{"twins that change names", func(b bus) { b.plug(first, "", "1-1:1.0"); b.plug(second, "", "1-2:1.0") },
			func(b bus) { b.plug(first, "", "1-2:1.0"); b.plug(second, "", "1-1:1.0") }, second, ""},
		{"the twin alone is back", func(b bus) { b.plug(first, "", "1-1:1.0"); b.plug(second, "", "1-2:1.0") },
			func(b bus) { b.plug(first, "", "1-2:1.0") }, "", PortTwin},
		{"without a serial number in another socket", func(b bus) { b.plug(first, "", "1-1:1.0") },
			func(b bus) { b.plug(first, "", "1-2:1.0") }, "", PortTwin},
		{"one serial number for all of its kind", func(b bus) { b.plug(first, "0001", "1-1:1.0"); b.plug(second, "0001", "1-2:1.0") },
			func(b bus) { b.plug(first, "0001", "1-2:1.0"); b.plug(third, "0001", "1-1:1.0") }, third, ""},
		{"of those the twin alone", func(b bus) { b.plug(first, "0001", "1-1:1.0"); b.plug(second, "0001", "1-2:1.0") },
			func(b bus) { b.plug(first, "0001", "1-2:1.0") }, "", PortTwin},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := bus{}
			tt.before(b)
			f := b.follower(first)
			_, name, err := f.next(t.Context())
			require.NoError(t, err)
			assert.Equal(t, first, name)
			clear(b)
			tt.after(b)
			for range 2 { // what is opened again is known as well as before
				_, name, err = f.next(t.Context())
				assert.Equal(t, tt.want, name)
				if tt.reason == "" {
					assert.NoError(t, err)
				} else {
					assert.ErrorIs(t, err, &PortError{Reason: tt.reason})
				}
			}
		})
	}
	f := bus{}.follower(first)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, err := f.next(ctx)
	assert.ErrorIs(t, err, context.Canceled)
}

func TestTwinIsAskedFor(t *testing.T) {
	b := bus{}
	b.plug("/dev/ttyUSB0", "", "1-1:1.0")
	f := b.follower("/dev/ttyUSB0")
	_, _, err := f.next(t.Context())
	require.NoError(t, err)
	clear(b)
	b.plug("/dev/ttyUSB3", "", "1-2:1.0")
	_, _, err = f.next(t.Context())
	assert.EqualError(t, err, `"/dev/ttyUSB0": cannot be told from another of its kind: /dev/ttyUSB3 is one, in another socket; `+
		`plug the cable into the socket it was in, or start again with its port`)
}

func TestWithoutIdentityTheNameCounts(t *testing.T) {
	b := bus{"/dev/ttyS0": {Name: "/dev/ttyS0"}}
	f := b.follower("/dev/ttyS0")
	for range 2 {
		_, name, err := f.next(context.Background())
		require.NoError(t, err)
		assert.Equal(t, "/dev/ttyS0", name)
	}
}

// A pipePort is a port made of a channel of bytes, for tests with a false clock.
type pipePort struct {
	in      chan []byte
	closed  chan struct{}
	once    sync.Once
	timeout time.Duration
}

func newPipePort() *pipePort {
	return &pipePort{in: make(chan []byte), closed: make(chan struct{})}
}

func (p *pipePort) Read(b []byte) (int, error) {
	select {
	case got, ok := <-p.in:
		if !ok {
			return 0, &PortError{Port: "port", Reason: PortGone, Err: io.EOF}
		}
		return copy(b, got), nil
	case <-p.closed:
		return 0, &PortError{Reason: PortClosed}
	case <-time.After(p.timeout):
		return 0, nil
	}
}

func (p *pipePort) Write(b []byte) (int, error)          { return len(b), nil }
func (p *pipePort) Close() error                         { p.once.Do(func() { close(p.closed) }); return nil }
func (p *pipePort) SetReadTimeout(d time.Duration) error { p.timeout = d; return nil }

func TestReconnectionBacksOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		port := newPipePort()
		start := time.Now()
		var tries []time.Duration
		open := func(context.Context) (Port, string, error) {
			tries = append(tries, time.Since(start))
			switch len(tries) {
			case 1:
				return port, "first", nil
			case 10:
				port = newPipePort()
				return port, "second", nil
			}
			return nil, "", &PortError{Port: "first", Reason: PortMissing}
		}
		out := make(chan Event, 10)
		done := make(chan error)
		go func() { done <- NewGauge("dial", Profile{Frame: FrameText}, open, time.Now).Run(ctx, out) }()
		close(port.in) // the cable is pulled
		lost, back := <-out, <-out
		assert.Equal(t, EventLost, lost.Kind)
		assert.Equal(t, EventBack, back.Kind)
		assert.Equal(t, `open again as "second"`, back.Text)
		var pauses []time.Duration
		for i := 1; i < len(tries); i++ {
			pauses = append(pauses, tries[i]-tries[i-1])
		}
		ms := time.Millisecond
		assert.Equal(t, []time.Duration{100 * ms, 200 * ms, 400 * ms, 800 * ms, 1600 * ms, 3200 * ms, 5000 * ms, 5000 * ms, 5000 * ms}, pauses)
		port.in <- []byte("+0.1\r\n+0.2\r\n")
		assert.Equal(t, 0.1, (<-out).Reading.Value)
		assert.Equal(t, 0.2, (<-out).Reading.Value)
		cancel()
		assert.NoError(t, <-done)
	})
}

func TestEndWhileWaitingForTheDevice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		port := newPipePort()
		opened := false
		open := func(context.Context) (Port, string, error) {
			if opened {
				return nil, "", &PortError{Reason: PortMissing}
			}
			opened = true
			return port, "first", nil
		}
		out := make(chan Event, 10)
		done := make(chan error)
		go func() { done <- NewGauge("dial", Profile{Frame: FrameText}, open, time.Now).Run(ctx, out) }()
		close(port.in)
		assert.Equal(t, EventLost, (<-out).Kind)
		synctest.Wait()
		cancel()
		assert.NoError(t, <-done)
	})
}

// A reading takes memory for its text alone.
func TestMemoryOfAReading(t *testing.T) {
	out := make(chan Event, 1)
	g := NewGauge("dial", Profile{Frame: FrameText}, nil, time.Now)
	g.ctx, g.out = context.Background(), out
	v := g.voices[0]
	v.first.past = true
	var err error
	v.dec, err = (&frame.Text{}).NewDecoder()
	require.NoError(t, err)
	var lines []byte
	for i := range 300 { // what a gauge sends while a wheel is rocked; invented
		lines = fmt.Appendf(lines, "%+.3f mm\r\n", 0.08+0.08*math.Sin(float64(i)/9))
	}
	feed := func() {
		for i := 0; i < len(lines); i += 11 {
			g.stamp = g.now()
			v.feed(lines[i : i+11])
			<-out
		}
	}
	assert.Equal(t, 300.0, testing.AllocsPerRun(10, feed))
}
