package device

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"crownlog/device/frame"
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
	dec   frame.Decoder
	stamp time.Time   // of the latest Read
	batch []heard     // frames not told yet
	doubt []time.Time // arrival of the frames that the decoder keeps back
	raws  interner
	watch watch
	emit  func(*frame.Frame)
	ask   asking
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
	var err error
	if g.dec, err = g.profile.NewDecoder(); err != nil {
		return err
	}
	if g.ask, err = newAsking(g.profile); err != nil {
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
		g.start = start{}
		g.stamp = g.now()
		g.watch.opened(g.stamp)
		why := g.listen(ctx, port)
		g.over()
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

// listen reads one open port until it fails or ctx ends, and closes it.
func (g *Gauge) listen(ctx context.Context, port Port) error {
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
		return g.askSession(ctx, port)
	}
	if err := port.SetReadTimeout(pollEvery); err != nil {
		return err
	}
	buf := make([]byte, 4096)
	for {
		if err := g.readOnce(port, buf); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
}

// readOnce waits for bytes until the read timeout, decodes them and tells what
// they said.
func (g *Gauge) readOnce(port Port, buf []byte) error {
	n, err := port.Read(buf)
	g.stamp = g.now()
	if n > 0 {
		g.start.bytes(g.profile)
		g.feed(buf[:n])
	} else {
		g.idle()
	}
	if errors.Is(err, io.EOF) {
		return &PortError{Port: g.port, Reason: PortGone, Err: err}
	}
	return err
}

// feed decodes what one Read brought.
func (g *Gauge) feed(b []byte) {
	g.dec.Feed(b, g.emit)
	if more := g.dec.Doubtful() - len(g.doubt); more > 0 {
		for range more {
			g.doubt = append(g.doubt, g.stamp)
		}
		g.ask.answered = true
		g.watch.heard(g.stamp)
	}
	g.tellAll()
}

// idle does what is due while nothing is heard. A frame still in doubt is
// given up once the gauge is silent; one that came at the press of a key has
// no other to wait for.
func (g *Gauge) idle() {
	g.start.idle(g)
	silent := g.watch.silence(g.stamp)
	if silent > 0 || g.profile.Sends == SendsOnPress {
		g.dec.Settle()
	}
	g.tellAll()
	if silent > 0 {
		g.event(EventSilent, "no reading for "+silent.Round(time.Millisecond).String())
	}
}

// over tells what is left when a port is left: frames in doubt, and the
// beginning of one that will never be whole.
func (g *Gauge) over() {
	g.start.release(g)
	g.dec.Settle()
	g.tellAll()
	if n := g.dec.Partial(); n > 0 {
		g.event(EventGarbled, "frame cut short after "+bytesOf(n))
	}
	g.dec.Reset()
}

// reopen tries to open the port again until it succeeds or ctx ends. A reason
// other than that the port is not there is told, once each time it changes.
func (g *Gauge) reopen(ctx context.Context) (Port, string, error) {
	const first, most = 100 * time.Millisecond, 5 * time.Second
	told := ""
	for wait := first; ; wait = min(2*wait, most) {
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil, "", ctx.Err()
		case <-timer.C:
		}
		port, name, err := g.open(ctx)
		if err == nil {
			return port, name, nil
		}
		missing := errors.Is(err, &PortError{Reason: PortMissing}) || errors.Is(err, &PortError{Reason: PortGone})
		if text := err.Error(); !missing && text != told && ctx.Err() == nil {
			told = text
			g.event(EventLost, text)
		}
	}
}
