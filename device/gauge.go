package device

import (
	"context"
	"errors"
	"fmt"
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

// A Gauge turns the bytes of one port into events: those of one gauge, or of
// several that take turns at it or are told apart by a channel.
type Gauge struct {
	open   Opener
	now    func() time.Time
	voices []*voice

	ctx    context.Context // of the current Run
	out    chan<- Event
	buf    []byte
	stamp  time.Time // of the latest Read
	behind bool      // what Reads bring waited there while nobody read
}

// A voice is one of the gauges on a port.
type voice struct {
	*Gauge
	label   string
	profile Profile
	dec     frame.Decoder
	batch   []pending // frames not emitted yet
	monitor monitor
	decoded func(*frame.Frame) // v.frame, bound once: a method value allocates
	poller  poller
	first   firstFrame
}

// NewGauge returns a gauge named label that speaks as p says over the port
// that open gives. now stamps the readings.
func NewGauge(label string, p Profile, open Opener, now func() time.Time) *Gauge {
	g := &Gauge{open: open, now: now, buf: make([]byte, readSize)}
	g.Add(label, p)
	return g
}

// Add puts one more gauge on the port. Profile.Beside says whether it can be there.
func (g *Gauge) Add(label string, p Profile) {
	v := &voice{Gauge: g, label: label, profile: p, monitor: newMonitor(p)}
	v.decoded = v.frame
	g.voices = append(g.voices, v)
}

// Run reads the port until ctx ends, and then returns nil. It sends every
// reading, garbled frame and fact about the stream to out, in order, and never
// closes out. A lost port is opened again with growing pauses. Run returns an
// error only when a profile is not possible or the first opening fails.
// A Gauge runs once at a time.
func (g *Gauge) Run(ctx context.Context, out chan<- Event) error {
	for _, v := range g.voices {
		var err error
		if v.dec, err = v.profile.NewDecoder(); err != nil {
			return err
		}
		if v.poller, err = newPoller(v.profile); err != nil {
			return err
		}
	}
	g.ctx, g.out = ctx, out
	port, _, err := g.open(ctx)
	for err == nil {
		g.stamp, g.behind = g.now(), false
		for _, v := range g.voices {
			// Binary frames are found by their header and checksum and an answer starts
			// after its question, so neither can lack its head.
			whole := v.profile.Frame != FrameText || v.profile.Mode == ModeAsked
			v.first = firstFrame{past: whole, named: v.profile.channel() != ""}
			v.monitor.opened(g.stamp)
		}
		why := g.session(ctx, port)
		for _, v := range g.voices {
			v.finish()
		}
		if ctx.Err() != nil {
			break
		}
		g.tell(EventLost, why.Error())
		var name string
		if port, name, err = g.reopen(ctx); err == nil {
			g.tell(EventBack, fmt.Sprintf("open again as %q", name))
		}
	}
	if ctx.Err() != nil {
		return nil
	}
	return err
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
	if g.voices[0].profile.Mode == ModeAsked {
		return g.poll(ctx, port)
	}
	if err := port.SetReadTimeout(pollEvery); err != nil {
		return err
	}
	for ctx.Err() == nil {
		if err := g.readOnce(port, g.voices...); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// readOnce waits for bytes until the read timeout; each of the voices decodes them
// and emits what they said.
func (g *Gauge) readOnce(port Port, voices ...*voice) error {
	asked := g.now()
	n, err := port.Read(g.buf)
	g.arrived(asked, g.now())
	for _, v := range voices {
		if n > 0 {
			v.first.begun = true
			v.feed(g.buf[:n])
		} else {
			v.idle()
		}
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
func (v *voice) feed(b []byte) {
	held := v.dec.Feed(v.stamp, b, v.decoded)
	if rest := v.poller.rest; rest != nil {
		v.poller.rest = nil
		held = v.dec.Feed(v.stamp, rest, v.decoded) || held
	}
	if held {
		v.poller.answered = true
		v.monitor.alive(v.stamp)
	}
	v.emitAll()
}

// frame takes one decoded frame.
func (v *voice) frame(f *frame.Frame) {
	if v.poller.observe(f) {
		return
	}
	if v.first.hold(f) {
		v.monitor.alive(f.At)
		return
	}
	v.release()
	v.queue(f)
}

// idle does what is due while nothing is heard. A frame still in doubt is
// given up once the gauge is silent; one that came at the press of a key has
// no other to wait for.
func (v *voice) idle() {
	v.release()                                   // a pause shows that the line held is whole
	v.first.past = v.first.past || !v.first.begun // and where nothing came yet, that the next byte starts a frame
	silent := v.monitor.silence(v.stamp)
	if silent > 0 || v.profile.Sends != "" || v.profile.Text != nil && v.profile.Text.LineEnd == "idle" {
		v.dec.Flush()
	}
	v.emitAll()
	if silent > 0 {
		v.event(EventSilent, "no reading for "+silent.Round(time.Millisecond).String())
	}
}

// finish emits what is left when a port is left: frames in doubt, and the
// beginning of one that will never be whole.
func (v *voice) finish() {
	v.release()
	v.dec.Flush()
	v.emitAll()
	if n := v.dec.Partial(); n > 0 {
		v.event(EventGarbled, "frame cut short after "+bytesOf(n))
	}
	v.dec.Reset()
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
			g.tell(EventLost, text)
		}
	}
}

// tell sends an event of the port, for each gauge on it.
func (g *Gauge) tell(k EventKind, text string) {
	for _, v := range g.voices {
		v.event(k, text)
	}
}
