package device

import (
	"bytes"
	"context"
	"fmt"
	"time"

	"crownlog/device/frame"
)

// asking is what a gauge that is asked is at.
type asking struct {
	question []byte
	echo     []byte // the question as it would come back as a frame, nil: it cannot
	fresh    bool   // no frame came yet since the question
	answered bool   // the gauge answered the question, be it with an error
	broken   bool   // a frame came that is no answer
	late     bool   // that answers come too late was told
}

func newAsking(p Profile) (asking, error) {
	question, err := p.Question()
	a := asking{question: question}
	if p.Frame != FrameModbus { // its decoder knows the echo
		a.echo = bytes.TrimSpace(question)
	}
	return a, err
}

// hears takes note of a frame, and reports whether it is the question come
// back: some adapters and gauges echo what they are sent.
func (a *asking) hears(f *frame.Frame) (echo bool) {
	if a.fresh && len(a.echo) > 0 && bytes.Equal(bytes.TrimSpace(f.Raw), a.echo) {
		a.fresh = false
		return true
	}
	a.fresh = false
	if f.Bad == "" || f.Refused || f.Flags&frame.FlagOverRange != 0 {
		a.answered = true
	} else {
		a.broken = true
	}
	return false
}

// askSession sends the question once an interval and waits for the answer.
func (g *Gauge) askSession(ctx context.Context, port Port) error {
	tick := time.NewTicker(g.profile.Interval.or(askEvery))
	defer tick.Stop()
	buf := make([]byte, 4096)
	for {
		if err := g.hush(port, buf); err != nil {
			return err
		}
		g.ask.fresh, g.ask.answered, g.ask.broken = true, false, false
		if _, err := port.Write(g.ask.question); err != nil {
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

// hush keeps the pause that parts two frames on the line. What comes in it
// answers no question: it is thrown away, and counted.
func (g *Gauge) hush(port Port, buf []byte) error {
	baud := g.profile.Serial.Baud
	if baud == 0 {
		baud = 9600
	}
	if err := port.SetReadTimeout(frame.ModbusSilence(baud)); err != nil {
		return err
	}
	var stray []byte
	for range 16 { // a gauge that talks without end is not waited for
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
// question's; that the timeout is too short is told once. What is left of a
// broken answer is thrown away.
func (g *Gauge) answer(ctx context.Context, port Port, buf []byte) error {
	timeout := g.profile.Timeout.or(askTimeout)
	asked := time.Now()
	for !g.ask.answered {
		left := timeout - time.Since(asked)
		if !g.ask.broken {
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
	if took := time.Since(asked); g.ask.answered && took > timeout && !g.ask.late {
		g.ask.late = true
		g.event(EventGarbled, fmt.Sprintf("an answer came %v after its question, later than the timeout of %v: set a longer timeout in the gauge profile",
			took.Round(time.Millisecond), timeout))
	}
	if n := g.dec.Partial(); n > 0 {
		text := "answer cut short after " + bytesOf(n)
		if g.ask.answered {
			text = bytesOf(n) + " after the answer"
		}
		g.event(EventGarbled, text)
	}
	g.dec.Reset()
	return nil
}
