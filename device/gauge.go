package device

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"
)

// pollEvery bounds one wait for bytes, so that silence is noticed.
const pollEvery = 50 * time.Millisecond

// A Gauge turns the bytes of one port into events.
type Gauge struct {
	label   string
	profile Profile
	open    Opener
	now     func() time.Time

	ctx   context.Context // of the current Run
	out   chan<- Event
	port  string // name of the open port
	stamp time.Time
	raws  interner
	watch watch
	emit  func(*Frame)
	heard bool // a frame arrived since the last question
	start start
}

// NewGauge returns a gauge named label that speaks as p says over the port
// that open gives. now stamps the readings.
func NewGauge(label string, p Profile, open Opener, now func() time.Time) *Gauge {
	g := &Gauge{label: label, profile: p, open: open, now: now, watch: newWatch(p)}
	g.emit = g.frame
	return g
}

// Run reads the gauge until ctx ends, and then returns nil. It sends every
// reading, garbled frame and fact about the stream to out, in order, and never
// closes out. A lost port is opened again with growing pauses. Run returns an
// error only when the profile is not possible or the first opening fails.
// A Gauge runs once at a time.
func (g *Gauge) Run(ctx context.Context, out chan<- Event) error {
	dec, err := g.profile.NewDecoder()
	if err != nil {
		return err
	}
	ask, err := g.profile.question()
	if err != nil {
		return err
	}
	g.ctx, g.out = ctx, out
	port, name, err := g.open(ctx)
	if err != nil {
		if ctx.Err() != nil {
			return nil
		}
		return err
	}
	for {
		g.port = name
		dec.Reset()
		g.start = start{}
		g.watch.opened(g.now())
		why := g.session(ctx, port, dec, ask)
		if ctx.Err() != nil {
			return nil
		}
		g.event(EventLost, why.Error())
		if port, name, err = g.reopen(ctx); err != nil {
			return nil
		}
		g.event(EventBack, fmt.Sprintf("open again as %q", name))
	}
}

// session reads one open port until it fails or ctx ends, and closes it.
func (g *Gauge) session(ctx context.Context, port Port, dec Decoder, ask []byte) error {
	closed := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		port.Close()
		close(closed)
	})
	defer func() {
		if !stop() {
			<-closed
		}
		port.Close()
	}()
	if g.profile.Mode == ModeAsked {
		return g.askSession(ctx, port, dec, ask)
	}
	if err := port.SetReadTimeout(pollEvery); err != nil {
		return err
	}
	buf := make([]byte, 4096)
	for {
		if err := g.readOnce(port, dec, buf); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
}

// readOnce waits for bytes until the read timeout and decodes them.
func (g *Gauge) readOnce(port Port, dec Decoder, buf []byte) error {
	n, err := port.Read(buf)
	g.stamp = g.now()
	if n > 0 {
		g.start.bytes(g.profile)
		dec.Feed(buf[:n], g.emit)
	} else {
		g.start.idle(g)
		if d := g.watch.silence(g.stamp); d > 0 {
			g.event(EventSilent, "no reading for "+d.Round(time.Millisecond).String())
		}
	}
	if errors.Is(err, io.EOF) {
		return &PortError{Port: g.port, Reason: PortGone, Err: err}
	}
	return err
}

// askSession sends the question once an interval and waits for the answer.
func (g *Gauge) askSession(ctx context.Context, port Port, dec Decoder, ask []byte) error {
	timeout := g.profile.Timeout.or(500 * time.Millisecond)
	tick := time.NewTicker(g.profile.Interval.or(100 * time.Millisecond))
	defer tick.Stop()
	buf := make([]byte, 4096)
	for {
		if err := g.hush(port, buf); err != nil {
			return err
		}
		if _, err := port.Write(ask); err != nil {
			return err
		}
		if err := g.answer(ctx, port, dec, buf, timeout); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
}

// hush throws away what came too late for the question before, and keeps the
// pause that parts two frames on the line.
func (g *Gauge) hush(port Port, buf []byte) error {
	baud := g.profile.Serial.Baud
	if baud == 0 {
		baud = 9600
	}
	if err := port.SetReadTimeout(modbusSilence(baud)); err != nil {
		return err
	}
	for range 16 { // a gauge that talks without end is not waited for
		n, err := port.Read(buf)
		if err != nil || n == 0 {
			return err
		}
	}
	return nil
}

// answer reads until a frame is complete or the timeout is over. What is left
// of a broken answer is thrown away, so that it cannot be taken for the next.
func (g *Gauge) answer(ctx context.Context, port Port, dec Decoder, buf []byte, timeout time.Duration) error {
	g.heard = false
	end := time.Now().Add(timeout)
	for !g.heard {
		left := time.Until(end)
		if left <= 0 {
			break
		}
		if err := port.SetReadTimeout(min(left, pollEvery)); err != nil {
			return err
		}
		if err := g.readOnce(port, dec, buf); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	if n := dec.Partial(); n > 0 {
		dec.Reset()
		if !g.heard {
			g.event(EventGarbled, fmt.Sprintf("answer cut short after %d bytes", n))
		}
	}
	return nil
}

// reopen tries to open the port again until it succeeds or ctx ends.
func (g *Gauge) reopen(ctx context.Context) (Port, string, error) {
	const first, most = 100 * time.Millisecond, 5 * time.Second
	for wait := first; ; wait = min(2*wait, most) {
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil, "", ctx.Err()
		case <-timer.C:
		}
		if port, name, err := g.open(ctx); err == nil {
			return port, name, nil
		}
	}
}

// frame takes one decoded frame.
func (g *Gauge) frame(f *Frame) {
	g.heard = true
	if !g.start.hold(g, f) {
		g.tell(f)
	}
}

// tell turns one frame into an event.
func (g *Gauge) tell(f *Frame) {
	if f.Bad != "" {
		g.watch.heard(g.stamp)
		g.event(EventGarbled, fmt.Sprintf("%s: %s", f.Bad, quote(f)))
		return
	}
	r := Reading{Time: g.stamp, Gauge: g.label, Raw: g.raw(f), Value: f.Value, Unit: f.Unit}
	if r.Unit == "" {
		r.Unit = g.profile.Unit
	}
	r.Flags = g.watch.mark(f, r)
	g.send(Event{Kind: EventReading, Time: r.Time, Gauge: g.label, Reading: r})
}

// raw returns the text of a frame as a Reading keeps it.
func (g *Gauge) raw(f *Frame) string {
	if !f.Binary {
		return g.raws.text(f.Raw)
	}
	var short [64]byte
	return g.raws.text(hex.AppendEncode(short[:0], f.Raw))
}

// quote shows a broken frame in an event, shortened.
func quote(f *Frame) string {
	const most = 60
	raw, dots := f.Raw, ""
	if len(raw) > most {
		raw, dots = raw[:most], "..."
	}
	if f.Binary {
		return hex.EncodeToString(raw) + dots
	}
	return fmt.Sprintf("%q%s", raw, dots)
}

func (g *Gauge) event(k EventKind, text string) {
	g.send(Event{Kind: k, Time: g.now(), Gauge: g.label, Text: text})
}

func (g *Gauge) send(ev Event) {
	select {
	case g.out <- ev:
	case <-g.ctx.Done():
	}
}

// An interner returns strings for bytes without making the same one twice:
// a gauge repeats its digits.
type interner struct{ seen map[string]string }

// internMost bounds the memory of an interner.
const internMost = 4096

func (in *interner) text(b []byte) string {
	if len(b) > 64 {
		return string(b)
	}
	if s, ok := in.seen[string(b)]; ok {
		return s
	}
	if in.seen == nil || len(in.seen) >= internMost {
		in.seen = make(map[string]string, 256)
	}
	s := string(b)
	in.seen[s] = s
	return s
}
