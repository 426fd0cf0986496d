package identify

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"time"

	"crownlog/device"
	"crownlog/device/frame"
)

// A CannotTell is the error of Port when nothing that was heard fits a known
// form.
type CannotTell struct {
	Why   string          // what was heard, and what stopped the search
	Lines []string        // up to three lines as they came, or bytes in hex; none: nothing was heard
	Draft *device.Profile // of text: a profile whose pattern is to be mended; nil: there is none
}

func (e *CannotTell) Error() string { return "cannot tell what the gauge sends: " + e.Why }

// Options bound what Port does. The zero value listens only.
type Options struct {
	MaySend  bool                                                    // questions may be sent to the port
	MayMove  bool                                                    // Progress is read by someone who can move the gauge when it asks for that
	Listen   time.Duration                                           // at each setting of the line, at most; 0: 1.5 s
	Bauds    []int                                                   // line speeds to try; nil: the common ones
	Open     func(name string, s device.Serial) (device.Port, error) // nil: as PortOpener does
	Progress func(text string)                                       // what is being tried, may be nil
}

// pollEvery bounds one wait for bytes, so that the end of the time is kept to.
// It is also the pause that ends a line which nothing else does: no shorter than
// that of a Gauge.
const pollEvery = 100 * time.Millisecond

const (
	// usualListen lets a gauge of four lines a second send enough to be known.
	usualListen = 1500 * time.Millisecond
	// mostListen bounds the bytes of one listening: sixteen windows of the
	// longest packed frame several times over.
	mostListen = 16384
	// slowGauge is how few bytes in the usual time are worth more listening,
	// moreListens times: some twenty lines are enough for any form.
	slowGauge   = 256
	moreListens = 3
	// moveListen is for a movement that was asked for.
	moveListen = 5 * time.Second
)

// commonBauds are tried in the order of how often gauges use them.
var commonBauds = []int{9600, 115200, 19200, 38400, 57600, 4800, 2400, 1200}

// Port listens to a port at the common line speeds, asks where it may,
// and proposes profiles, the best first; the best is an answer only where it is
// Sure. It stops at the first speed at which text, Modbus or an answer is heard.
// With no proposal the error is a *CannotTell or a *PortError.
func Port(ctx context.Context, name string, o Options) ([]Proposal, error) {
	o.Listen = cmp.Or(max(o.Listen, 0), usualListen)
	if o.Bauds == nil {
		o.Bauds = commonBauds
	}
	if o.Open == nil {
		o.Open = func(name string, s device.Serial) (device.Port, error) {
			port, _, err := device.PortOpener(name, s)(ctx)
			return port, err
		}
	}
	if o.Progress == nil {
		o.Progress = func(string) {}
	}
	parities := []string{""}
	if !device.HasLine(name) { // it is set elsewhere, whatever is asked for here
		o.Bauds = o.Bauds[:1]
	} else if o.MaySend {
		parities = append(parities, "even") // the Modbus guide's own
	}
	var most []byte
	for _, baud := range o.Bauds {
		for _, parity := range parities {
			found, received, err := identifyAt(ctx, name, device.Serial{Baud: baud, Parity: parity}, o)
			if err != nil || len(found) > 0 {
				return found, err
			}
			if len(received) > len(most) {
				most = received
			}
			if len(received) > 0 {
				break // it streams, at another speed
			}
		}
	}
	if len(most) == 0 {
		return nil, &CannotTell{Why: fmt.Sprintf("nothing was heard on %q", name)}
	}
	return nil, &CannotTell{Why: fmt.Sprintf("%d bytes were heard on %q and fit no known form at any speed", len(most), name), Lines: Heard(most)}
}

// identifyAt tries one setting of the line: it listens, and asks only where
// nothing at all was heard, for a gauge that streams would have been. What was
// heard and makes no sense was heard at the wrong speed.
func identifyAt(ctx context.Context, name string, serial device.Serial, o Options) ([]Proposal, []byte, error) {
	port, err := o.Open(name, serial)
	if err != nil {
		return nil, nil, err
	}
	stop := context.AfterFunc(ctx, func() { port.Close() })
	l := session{port: port, baud: serial.Baud, progress: o.Progress}
	var found []Proposal
	if serial.Parity == "" {
		found = l.hear(o)
	}
	if o.MaySend && len(l.received) == 0 {
		found = l.ask(serial.Parity != "")
	}
	stop()
	port.Close()
	for i := range found {
		found[i].Profile.Serial.Baud = serial.Baud
		found[i].Profile.Serial.Parity = cmp.Or(serial.Parity, found[i].Profile.Serial.Parity)
	}
	if err = cmp.Or(ctx.Err(), l.err); err == nil && len(found) == 0 {
		err = stopped(l.received)
	}
	return found, l.received, err
}

// A session is a port at one setting of the line. After an error it does nothing
// any more.
type session struct {
	port        device.Port
	baud        int
	progress    func(text string)
	received    []byte
	paused      []byte    // the same, with a line feed at each pause
	first, last time.Time // when the first and the last Read brought something
	piled       int       // bytes of the first
	err         error
	buf         [4096]byte
}

// read returns what comes within a time, nothing after it.
func (l *session) read(timeout time.Duration) []byte {
	if l.err == nil {
		l.err = l.port.SetReadTimeout(timeout)
	}
	n := 0
	if l.err == nil {
		n, l.err = l.port.Read(l.buf[:])
	}
	return l.buf[:n]
}

// listen reads for a time or up to mostListen bytes.
func (l *session) listen(d time.Duration) {
	end := time.Now().Add(d)
	for left := d; left > 0 && l.err == nil && len(l.received) < mostListen; left = time.Until(end) {
		b := l.read(min(left, pollEvery))
		if l.paused = append(l.paused, b...); len(b) == 0 {
			l.paused = append(l.paused, '\n')
			continue
		}
		if l.last = time.Now(); l.piled == 0 {
			l.first, l.piled = l.last, len(b)
		}
		l.received = append(l.received, b...)
	}
}

// proposals returns what the bytes are; of text without line ends, what the
// pauses between make of it. The gauge takes to send as much
//
//	(last - first) * bytes / (bytes - those of the first Read)
//
// for what the first Read brings had piled up before, so the time since tells
// nothing of it.
func (l *session) proposals() []Proposal {
	var span time.Duration
	if n := len(l.received); n > l.piled {
		span = time.Duration(float64(l.last.Sub(l.first)) * float64(n) / float64(n-l.piled))
	}
	found := Bytes(l.received, span)
	if len(found) > 0 || textShare(l.received) < mostText || bytes.ContainsAny(l.received, "\r\n") {
		return found
	}
	found = Bytes(l.paused, span)
	for i := range found {
		if t := found[i].Profile.Text; t != nil {
			t.LineEnd = "idle"
		}
	}
	return found
}

// hear listens until something is known, or nothing will be.
func (l *session) hear(o Options) (found []Proposal) {
	l.progress(fmt.Sprintf("listening at %d baud", l.baud))
	for more := 0; ; more++ {
		l.listen(o.Listen)
		found = l.proposals()
		// Of bytes that are no text most come at the wrong speed.
		if more == moreListens || more == 1 && textShare(l.received) < mostText || len(found) > 0 || len(l.received) == 0 || len(l.received) >= slowGauge || l.err != nil {
			break
		}
		l.progress("a slow gauge, listening on; if it sends at a press of its key, press it")
	}
	if len(found) > 1 && !found[0].Sure() && o.MayMove {
		// What moves while it is asked to is the value, whatever else wanders.
		l.progress("two numbers could be the value: leave the gauge alone, and then push it in by some 5 mm and let it out again")
		l.received, l.paused, l.piled = nil, nil, 0
		l.listen(moveListen)
		found = l.proposals()
	}
	return found
}

// stopped returns the error that ends the search where what was heard is sense:
// whole lines of text, or Modbus; nil where it is none.
func stopped(b []byte) error {
	for _, x := range modbusHeard(b) {
		if n := len(x.answers) + x.refusals + x.questions; n > 1 {
			return &CannotTell{Lines: Heard(b), Why: fmt.Sprintf("Modbus device %d gave %d answers and %d exceptions to %d questions of another master, and no register moved: move the gauge while it is listened to",
				x.address, len(x.answers), x.refusals, x.questions)}
		}
	}
	lines, end := splitLines(b)
	// Bytes heard at the wrong speed are seldom all printable.
	const clean = 0.97
	if len(lines) == 0 || textShare(b) < clean || !mostly(lines, printable) {
		return nil
	}
	e := &CannotTell{Why: fmt.Sprintf("%d lines of clean text came, and no number in them can be told to be the value", len(lines)), Lines: Heard(b)}
	if len(lines) < leastFrames {
		e.Why = fmt.Sprintf("only %d lines came, and %d are needed: move the gauge, or press its key more often", len(lines), leastFrames+1)
	}
	e.Draft = &device.Profile{Name: "to-mend", Title: "the pattern is a guess: name the value in it", Frame: device.FrameText,
		Text: &frame.Text{LineEnd: end, Pattern: `[^\d+-]*(?P<value>[-+]?[\d.,]+).*`}}
	return e
}
