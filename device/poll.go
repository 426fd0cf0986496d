package device

import (
	"bytes"
	"context"
	"fmt"
	"slices"
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

// lateAnswer is how long the line rests for an answer that did not come in twice its
// time, before another gauge is asked. A gauge that is later still must be told by
// its answer: by a Modbus address, or a channel (common practice, no source).
const lateAnswer = time.Second

// A poller is the state of a gauge that is asked.
type poller struct {
	question []byte
	echo     []byte // the question as it would come back as a frame, nil: it cannot
	fresh    bool   // no frame came yet since the question
	answered bool   // the gauge answered the question, be it with an error
	broken   bool   // a frame came that is no answer
	late     bool   // that answers come too late was reported
	rest     []byte // an answer that came in one line with the echo

	due   time.Time     // when the next question is to be sent
	pause time.Duration // before that, of a gauge that did not answer beside others
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

// poll asks the gauges in turn, each once an interval.
func (g *Gauge) poll(ctx context.Context, port Port) error {
	for {
		v := slices.MinFunc(g.voices, func(a, b *voice) int { return a.poller.due.Compare(b.poller.due) })
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Until(v.poller.due)):
		}
		begun := time.Now()
		if err := v.ask(ctx, port); err != nil {
			return err
		}
		for _, other := range g.voices {
			if other != v { // it could not be asked meanwhile, which is no silence
				other.monitor.last = other.monitor.last.Add(time.Since(begun))
			}
		}
	}
}

// ask sends the question and waits for the answer. Where several gauges are on the
// port one that gave none may give it later, to the question of another: the line
// rests for it, and the gauge is asked again with growing pauses, as a lost port is
// opened.
func (v *voice) ask(ctx context.Context, port Port) error {
	a, interval := &v.poller, v.profile.Interval.or(defaultInterval)
	a.due, a.fresh, a.answered, a.broken = time.Now().Add(interval), true, false, false
	if err := v.quietWait(port, frame.ModbusSilence(v.profile.Serial.filled().Baud)); err != nil {
		return err
	}
	if _, err := port.Write(a.question); err != nil {
		return err
	}
	if err := v.answer(ctx, port); err != nil {
		return err
	}
	missed, before := !a.answered && !a.broken, a.pause
	a.pause = 0
	if len(v.voices) == 1 || !missed && before == 0 {
		return nil
	}
	if missed {
		a.pause = min(max(firstReopen, 2*before), mostReopen)
		a.due = time.Now().Add(max(interval, a.pause))
	} // else it may have answered the question before
	return v.quietWait(port, lateAnswer)
}

// quietWait waits until the line has been quiet for so long. What comes meanwhile
// answers no question: it is thrown away, and counted.
func (v *voice) quietWait(port Port, quiet time.Duration) error {
	if err := port.SetReadTimeout(quiet); err != nil {
		return err
	}
	var stray []byte
	for range 16 { // a gauge that talks without end is asked all the same
		n, err := port.Read(v.buf)
		if err != nil {
			return err
		}
		if n == 0 {
			break
		}
		stray = append(stray, v.buf[:n]...)
	}
	f := frame.Frame{Raw: stray, Binary: v.profile.Frame == FramePacked || v.profile.Frame == FrameModbus}
	if f.Binary && len(stray) > 0 || len(bytes.TrimSpace(stray)) > 0 {
		v.event(EventGarbled, fmt.Sprintf("%s that answer no question: %s", bytesOf(len(stray)), quote(&f)))
	}
	return nil
}

// answer reads until the gauge has answered. Where nothing was heard an answer
// is still taken up to twice the timeout, for else it would pass for the next
// question's; that the timeout is too short is reported once. What is left of
// a broken answer is thrown away.
func (v *voice) answer(ctx context.Context, port Port) error {
	timeout := v.profile.Timeout.or(defaultTimeout)
	asked := time.Now()
	for !v.poller.answered {
		left := timeout - time.Since(asked)
		if !v.poller.broken {
			left += timeout
		}
		if left <= 0 {
			break
		}
		if err := port.SetReadTimeout(min(left, pollEvery)); err != nil {
			return err
		}
		if err := v.readOnce(port, v); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	if took := time.Since(asked); v.poller.answered && took > timeout && !v.poller.late {
		v.poller.late = true
		v.event(EventGarbled, fmt.Sprintf("an answer came %v after its question, later than the timeout of %v: set a longer timeout in the gauge profile",
			took.Round(time.Millisecond), timeout))
	}
	if n := v.dec.Partial(); n > 0 {
		text := "answer cut short after " + bytesOf(n)
		if v.poller.answered {
			text = bytesOf(n) + " after the answer"
		}
		v.event(EventGarbled, text)
	}
	v.dec.Reset()
	return nil
}
