package identify

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"crownlog/device"
	"crownlog/device/frame"
)

// ErrCannotTell is wrapped by the error of Port when nothing that was
// heard fits a known form.
var ErrCannotTell = errors.New("cannot tell what the gauge sends")

// Options bound what Port does. The zero value listens only.
type Options struct {
	MaySend  bool                                                    // questions may be sent to the port
	Listen   time.Duration                                           // at each setting of the line; 0: 1.5 s
	Bauds    []int                                                   // line speeds to try; nil: the common ones
	Open     func(name string, s device.Serial) (device.Port, error) // nil: as SerialOpener does
	Progress func(text string)                                       // what is being tried, may be nil
}

// pollEvery bounds one wait for bytes, so that the end of the time is kept to.
const pollEvery = 50 * time.Millisecond

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
)

// commonBauds are tried in the order of how often gauges use them.
var commonBauds = []int{9600, 115200, 19200, 38400, 57600, 4800, 2400, 1200}

// A question is a polite way to ask an unknown gauge for a value.
type question struct {
	name string
	ask  []byte
	set  func(p *device.Profile) // makes the profile ask so
}

// textQuestions and modbusQuestions are sent only with MaySend. None of them
// changes a setting: SCPI queries, single letters that gauges answer with
// their value, and reads of the first registers of device 1.
func textQuestions() []question {
	var list []question
	for _, q := range []string{"READ?", "FETC?", "MEAS?"} {
		list = append(list, question{q, []byte(q + "\n"), func(p *device.Profile) {
			if p.Frame == device.FrameText {
				p.Ask = q + "\n"
				return
			}
			p.SCPI = &frame.SCPI{Query: q}
		}})
	}
	for _, q := range []string{"?\r", "\r\n", "R\r\n", "D\r\n"} {
		list = append(list, question{q, []byte(q), func(p *device.Profile) { p.Ask = q }})
	}
	return list
}

func modbusQuestions() []question {
	var list []question
	for _, kind := range []string{"float32", "int16"} {
		for _, function := range []int{4, 3} {
			ask := (&frame.Modbus{Address: 1, Function: function, Type: kind}).Request()
			name := fmt.Sprintf("modbus read, function %d, registers %d", function, ask[5])
			list = append(list, question{name, ask, func(*device.Profile) {}})
		}
	}
	return list
}

// Port listens to a port at the common line speeds, asks where it may,
// and proposes profiles, the best first. With no proposal the error is
// ErrCannotTell, which says how much was received, or a *PortError.
func Port(ctx context.Context, name string, o Options) ([]Proposal, error) {
	if o.Listen <= 0 {
		o.Listen = usualListen
	}
	if o.Bauds == nil {
		o.Bauds = commonBauds
	}
	if o.Open == nil {
		o.Open = func(name string, s device.Serial) (device.Port, error) {
			port, _, err := device.SerialOpener(name, s)(ctx)
			return port, err
		}
	}
	if o.Progress == nil {
		o.Progress = func(string) {}
	}
	most := 0
	for _, baud := range o.Bauds {
		tries := []lineTry{{device.Serial{Baud: baud}, true, append(textQuestions(), modbusQuestions()...)}}
		if o.MaySend { // the Modbus guide's own setting has even parity
			tries = append(tries, lineTry{device.Serial{Baud: baud, Parity: "even"}, false, modbusQuestions()})
		}
		for _, try := range tries {
			found, received, err := identifyAt(ctx, name, try, o)
			if err != nil || len(found) > 0 {
				return found, err
			}
			most = max(most, received)
		}
	}
	if most == 0 {
		return nil, fmt.Errorf("%w: nothing was heard on %q", ErrCannotTell, name)
	}
	return nil, fmt.Errorf("%w: %d bytes were heard on %q and fit no known form", ErrCannotTell, most, name)
}

// A lineTry is one setting of the line and what is done with it.
type lineTry struct {
	serial device.Serial
	listen bool
	ask    []question
}

// identifyAt tries one setting of the line: it listens, and asks only where
// nothing at all was heard, for a gauge that streams would have been. What was
// heard and fits nothing was heard at the wrong speed.
func identifyAt(ctx context.Context, name string, try lineTry, o Options) (found []Proposal, received int, err error) {
	s := try.serial
	port, err := o.Open(name, s)
	if err != nil {
		return nil, 0, err
	}
	stop := context.AfterFunc(ctx, func() { port.Close() })
	defer func() {
		stop()
		port.Close()
		if ctx.Err() != nil {
			err = ctx.Err()
		}
	}()
	if try.listen {
		o.Progress(fmt.Sprintf("listening at %d baud", s.Baud))
		var b []byte
		var span time.Duration
		for more := 0; ; more++ {
			next, longer, err := listenFor(port, o.Listen, mostListen)
			if err != nil {
				return nil, 0, err
			}
			b, span = append(b, next...), span+longer
			found = withLine(Bytes(b, span), s)
			if more == moreListens || len(found) > 0 || len(b) == 0 || len(b) >= slowGauge {
				break
			}
			o.Progress("a slow gauge, listening on")
		}
		if len(b) > 0 {
			return found, len(b), nil
		}
	}
	if !o.MaySend {
		return nil, 0, nil
	}
	for _, q := range try.ask {
		o.Progress(fmt.Sprintf("asking %q at %d baud", q.name, s.Baud))
		b, err := askFor(port, q.ask)
		if err != nil {
			return nil, 0, err
		}
		received = max(received, len(b))
		found = nil
		for _, p := range Bytes(b, 0) {
			p.Profile.Mode = device.ModeAsked
			q.set(&p.Profile)
			if ask, err := p.Profile.Question(); err == nil && bytes.Equal(ask, q.ask) && p.Profile.Check() == nil {
				found = append(found, p)
			}
		}
		if len(found) > 0 {
			return withLine(found, s), received, nil
		}
	}
	return nil, received, nil
}

// withLine writes the line setting into the proposals.
func withLine(found []Proposal, s device.Serial) []Proposal {
	for i := range found {
		found[i].Profile.Serial.Baud = s.Baud
		found[i].Profile.Serial.Parity = cmp.Or(s.Parity, found[i].Profile.Serial.Parity)
	}
	return found
}

// listenFor reads for a time or up to most bytes, and returns how long a gauge
// takes to send as many:
//
//	(last - first) * bytes / (bytes - those of the first Read)
//
// What the first Read brings had piled up before, so the time since tells
// nothing of it.
func listenFor(port device.Port, d time.Duration, most int) (b []byte, span time.Duration, err error) {
	var first, last time.Time
	piled := 0
	buf := make([]byte, 4096)
	end := time.Now().Add(d)
	for left := d; left > 0 && len(b) < most; left = time.Until(end) {
		if err := port.SetReadTimeout(min(left, pollEvery)); err != nil {
			return nil, 0, err
		}
		n, err := port.Read(buf)
		if err != nil {
			return nil, 0, err
		}
		if n > 0 {
			last = time.Now()
			if first.IsZero() {
				first, piled = last, n
			}
			b = append(b, buf[:n]...)
		}
	}
	if piled == len(b) {
		return b, 0, nil
	}
	return b, time.Duration(float64(last.Sub(first)) * float64(len(b)) / float64(len(b)-piled)), nil
}

// askFor sends a question until enough answers for a proposal are received, and
// returns them without the echo of the question. A question that gets no
// answer is sent once more and then given up.
func askFor(port device.Port, ask []byte) ([]byte, error) {
	const times = 12 // two broken answers and a first one half heard leave enough
	var b []byte
	for i := range times {
		if i == 2 && len(b) == 0 {
			return nil, nil
		}
		if _, err := port.Write(ask); err != nil {
			return nil, err
		}
		answer, err := answerTo(port, ask)
		if err != nil {
			return nil, err
		}
		b = append(b, answer...)
	}
	return b, nil
}

// answerTo receives one answer. It may come in pieces, and a pause ends it; the
// pause between the echo and the answer does not.
func answerTo(port device.Port, ask []byte) ([]byte, error) {
	// A slow converter answers within wait. gap is more than the 16 ms for which
	// a USB bridge may hold back the rest of an answer.
	const wait, gap = 250 * time.Millisecond, 20 * time.Millisecond
	var received []byte
	buf := make([]byte, 1024)
	for {
		timeout := gap
		if len(withoutEcho(received, ask)) == 0 {
			timeout = wait
		}
		if err := port.SetReadTimeout(timeout); err != nil {
			return nil, err
		}
		n, err := port.Read(buf)
		if err != nil {
			return nil, err
		}
		if n == 0 {
			return withoutEcho(received, ask), nil
		}
		received = append(received, buf[:n]...)
	}
}

// withoutEcho returns what follows the question come back, its line end and
// all; what does not begin with the whole question is an answer.
func withoutEcho(received, ask []byte) []byte {
	text := bytes.TrimRight(ask, "\r\n")
	rest, ok := bytes.CutPrefix(received, text)
	if len(text) == 0 || !ok {
		return received
	}
	end := bytes.TrimLeft(rest, "\r\n")
	if len(end) == len(rest) && len(rest) > 0 && len(text) < len(ask) {
		return received // the question has a line end, this has none
	}
	return end
}
