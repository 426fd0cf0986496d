package device

import (
	"bytes"
	"context"
	"fmt"
	"time"

	"crownlog/device/frame"
)

// Defaults of a gauge that is asked. Instruments of the bench answer within
// some ten milliseconds; half a second leaves room for a slow converter, and
// ten readings a second are as many as a hand needs (common practice).
const (
	defaultTimeout  = 500 * time.Millisecond
	defaultInterval = 100 * time.Millisecond
)

// mostStray bounds the Reads of a quiet wait, so that a gauge that talks
// without end is asked all the same.
const mostStray = 16

// A poller is the state of a gauge that is asked.
type poller struct {
	question []byte
	echo     []byte // the question as it would come back as a frame, nil: it cannot
	fresh    bool   // no frame came yet since the question
	answered bool   // the gauge answered the question, be it with an error
	broken   bool   // a frame came that is no answer
	late     bool   // that answers come too late was reported
	rest     []byte // an answer that came in one line with the echo
}

func newPoller(p Profile) (poller, error) {
	question, err := p.Question()
	a := poller{question: question}
	if p.Frame != FrameModbus { // its decoder knows the echo
		a.echo = bytes.TrimSpace(question)
	}
	return a, err
}

// observe takes note of a frame, and reports whether it is the question come
// back: some adapters and gauges echo what they are sent. What follows an echo
// without a line end is left in rest; a line that can be read as it stands has
// none.
func (a *poller) observe(f *frame.Frame) (echo bool) {
	fresh := a.fresh
	a.fresh = false
	if line := bytes.TrimSpace(f.Raw); fresh && len(a.echo) > 0 && bytes.HasPrefix(line, a.echo) {
		if len(line) == len(a.echo) {
			return true
		}
		if f.Bad != "" && !f.Binary {
			a.rest = append(bytes.TrimSpace(bytes.Clone(line[len(a.echo):])), '\r', '\n')
			return true
		}
	}
	if f.Bad == "" || f.Refused || f.Flags&frame.FlagOverRange != 0 {
		a.answered = true
	} else {
		a.broken = true
	}
	return false
}

// poll sends the question once an interval and waits for the answer.
func (g *Gauge) poll(ctx context.Context, port Port) error {
	tick := time.NewTicker(g.profile.Interval.or(defaultInterval))
	defer tick.Stop()
	buf := make([]byte, readSize)
	for {
		if err := g.quietWait(port, buf); err != nil {
			return err
		}
		g.poller.fresh, g.poller.answered, g.poller.broken = true, false, false
		if _, err := port.Write(g.poller.question); err != nil {
			return err
		}
		if err := g.answer(ctx, port, buf); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
}

// quietWait keeps the pause that parts two frames on the line. What comes in
// it answers no question: it is thrown away, and counted.
func (g *Gauge) quietWait(port Port, buf []byte) error {
	if err := port.SetReadTimeout(frame.ModbusSilence(g.profile.Serial.baud())); err != nil {
		return err
	}
	var stray []byte
	for range mostStray {
		n, err := port.Read(buf)
		if err != nil {
			return err
		}
		if n == 0 {
			break
		}
		stray = append(stray, buf[:n]...)
	}
	f := frame.Frame{Raw: stray, Binary: g.profile.Frame == FramePacked || g.profile.Frame == FrameModbus}
	if f.Binary && len(stray) > 0 || len(bytes.TrimSpace(stray)) > 0 {
		g.event(EventGarbled, fmt.Sprintf("%s that answer no question: %s", bytesOf(len(stray)), quote(&f)))
	}
	return nil
}

// answer reads until the gauge has answered. Where nothing was heard an answer
// is still taken up to twice the timeout, for else it would pass for the next
// question's; that the timeout is too short is reported once. What is left of
// a broken answer is thrown away.
func (g *Gauge) answer(ctx context.Context, port Port, buf []byte) error {
	timeout := g.profile.Timeout.or(defaultTimeout)
	asked := time.Now()
	for !g.poller.answered {
		left := timeout - time.Since(asked)
		if !g.poller.broken {
			left += timeout
		}
		if left <= 0 {
			break
		}
		if err := port.SetReadTimeout(min(left, pollEvery)); err != nil {
			return err
		}
		if err := g.readOnce(port, buf); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	if took := time.Since(asked); g.poller.answered && took > timeout && !g.poller.late {
		g.poller.late = true
		g.event(EventGarbled, fmt.Sprintf("an answer came %v after its question, later than the timeout of %v: set a longer timeout in the gauge profile",
			took.Round(time.Millisecond), timeout))
	}
	if n := g.dec.Partial(); n > 0 {
		text := "answer cut short after " + bytesOf(n)
		if g.poller.answered {
			text = bytesOf(n) + " after the answer"
		}
		g.event(EventGarbled, text)
	}
	g.dec.Reset()
	return nil
}
