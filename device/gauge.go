package device

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"crownlog/device/frame"
)

const (
	// pollEvery bounds one wait for bytes, so that silence and the end of the
	// run are noticed, and costs ten wake-ups a second.
	pollEvery = 100 * time.Millisecond
	// readSize is the buffer of one Read: what a terminal of Linux hands over
	// at once.
	readSize = 4096
	// Between tries to open a lost port: soon, for a cable that was knocked,
	// and then seldom, for one that was put away.
	firstReopen = 100 * time.Millisecond
	mostReopen  = 5 * time.Second
)

// A Gauge turns the bytes of one port into events.
type Gauge struct {
	label   string
	profile Profile
	open    Opener
	now     func() time.Time

	ctx     context.Context // of the current Run
	out     chan<- Event
	port    string // name of the open port
	dec     frame.Decoder
	stamp   time.Time // of the latest Read
	behind  bool      // what Reads bring waited there while nobody read
	batch   []pending // frames not emitted yet
	monitor monitor
	decoded func(*frame.Frame) // g.frame, bound once: a method value allocates
	poller  poller
	first   firstFrame
}

// NewGauge returns a gauge named label that speaks as p says over the port
// that open gives. now stamps the readings.
func NewGauge(label string, p Profile, open Opener, now func() time.Time) *Gauge {
	g := &Gauge{label: label, profile: p, open: open, now: now, monitor: newMonitor(p)}
	g.decoded = g.frame
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
	if g.poller, err = newPoller(g.profile); err != nil {
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
		g.first = firstFrame{}
		g.stamp = g.now()
		g.behind = false
		g.monitor.opened(g.stamp)
		why := g.session(ctx, port)
		g.finish()
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
func (g *Gauge) session(ctx context.Context, port Port) error {
	closed := make(chan struct{})
	stop := context.AfterFunc(ctx, func() { // ends a blocked Read
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
		return g.poll(ctx, port)
	}
	if err := port.SetReadTimeout(pollEvery); err != nil {
		return err
	}
	buf := make([]byte, readSize)
	for ctx.Err() == nil {
		if err := g.readOnce(port, buf); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// readOnce waits for bytes until the read timeout, decodes them and emits what
// they said.
func (g *Gauge) readOnce(port Port, buf []byte) error {
	asked := g.now()
	n, err := port.Read(buf)
	g.arrived(asked, g.now())
	if n > 0 {
		g.first.arrived(g.profile)
		g.feed(buf[:n])
	} else {
		g.idle()
	}
	if errors.Is(err, io.EOF) {
		return &PortError{Port: g.port, Reason: PortGone, Err: err}
	}
	return err
}

// emptyLine is how long a Read takes that found nothing there: one that does is
// back in some microseconds, if the computer is busy in hundreds.
const emptyLine = 2 * time.Millisecond

// arrived stamps what a Read brought that began when asked. After a pause between
// two Reads, of a full disk or a computer asleep, what had piled up comes at once.
func (g *Gauge) arrived(asked, now time.Time) {
	switch {
	case now.Sub(asked) >= emptyLine:
		g.behind = false
	case asked.Sub(g.stamp) > longestSpread:
		g.behind = true
	}
	g.stamp = now
}

// feed decodes what one Read brought.
func (g *Gauge) feed(b []byte) {
	held := g.dec.Feed(g.stamp, b, g.decoded)
	if rest := g.poller.rest; rest != nil {
		g.poller.rest = nil
		held = g.dec.Feed(g.stamp, rest, g.decoded) || held
	}
	if held {
		g.poller.answered = true
		g.monitor.alive(g.stamp)
	}
	g.emitAll()
}

// frame takes one decoded frame.
func (g *Gauge) frame(f *frame.Frame) {
	if g.poller.observe(f) {
		return
	}
	if g.first.hold(f) {
		g.monitor.alive(f.At)
		return
	}
	g.release()
	g.queue(f)
}

// idle does what is due while nothing is heard. A frame still in doubt is
// given up once the gauge is silent; one that came at the press of a key has
// no other to wait for.
func (g *Gauge) idle() {
	g.release()                                   // a pause shows that the line held is whole
	g.first.past = g.first.past || !g.first.begun // and where nothing came yet, that the next byte starts a frame
	silent := g.monitor.silence(g.stamp)
	if silent > 0 || g.profile.Sends != "" || g.profile.Text != nil && g.profile.Text.LineEnd == "idle" {
		g.dec.Flush()
	}
	g.emitAll()
	if silent > 0 {
		g.event(EventSilent, "no reading for "+silent.Round(time.Millisecond).String())
	}
}

// finish emits what is left when a port is left: frames in doubt, and the
// beginning of one that will never be whole.
func (g *Gauge) finish() {
	g.release()
	g.dec.Flush()
	g.emitAll()
	if n := g.dec.Partial(); n > 0 {
		g.event(EventGarbled, "frame cut short after "+bytesOf(n))
	}
	g.dec.Reset()
}

// reopen tries to open the port again until it succeeds or ctx ends. A reason
// other than that the port is not there is reported, once each time it changes.
func (g *Gauge) reopen(ctx context.Context) (Port, string, error) {
	reported := ""
	for wait := firstReopen; ; wait = min(2*wait, mostReopen) {
		select {
		case <-ctx.Done():
			return nil, "", ctx.Err()
		case <-time.After(wait):
		}
		port, name, err := g.open(ctx)
		if err == nil {
			return port, name, nil
		}
		pe, _ := errors.AsType[*PortError](err)
		missing := pe != nil && (pe.Reason == PortMissing || pe.Reason == PortGone || pe.Reason == PortUnreached)
		if text := err.Error(); !missing && text != reported && ctx.Err() == nil {
			reported = text
			g.event(EventLost, text)
		}
	}
}
