package logger

import (
	"fmt"
	"math"
	"time"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// at is the round at this moment, for its measurer.
func (r *Round) at() feature.At {
	at := feature.At{
		Visit: r.visits[r.current], Index: r.current, From: r.visits[r.came], NextIndex: r.nextOpen(),
		Captured: r.captured(), Done: r.Done(), Moving: r.shown.State == StateMoving, Overridden: r.overridden,
		Supersedes: r.older[r.current], Mean: r.shown.Assessment.Round.Mean, N: r.shown.Assessment.Round.N,
		Decimals: r.decimals(), Digits: r.written, Now: r.time(), Start: r.start, First: r.first, T: r.trace.newest(),
	}
	if at.NextIndex >= 0 {
		at.Next = r.visits[at.NextIndex]
	}
	if r.last.Raw == "" {
		at.Digits = -1
	}
	return at
}

// captured reports whether the current visit has its capture and is not being
// measured once more.
func (r *Round) captured() bool { return r.slots[r.current].ID > 0 && !r.retrying }

// send takes an input to the measurer and does what it wants. An error means
// that a capture could not be stored, or that the input is refused.
func (r *Round) send(in feature.Input) error {
	r.doubt = ""
	for _, e := range r.measure.Step(r.at(), in) {
		if goOn, err := r.apply(e); err != nil || !goOn {
			return err
		}
	}
	return nil
}

// Tick tells the round that time has gone on where nothing else does: a gauge
// that is read by eye sends nothing. An error is as of Handle.
func (r *Round) Tick(now time.Time) error {
	if r.Done() || r.paused || len(r.held) > 0 {
		return nil
	}
	return r.send(feature.Input{Kind: feature.Tick, Time: now})
}

// notify lets the measurer know what became of the round.
func (r *Round) notify(kind feature.InputKind) { r.measure.Step(r.at(), feature.Input{Kind: kind}) }

// apply does one thing that the measurer wants, and reports whether what it
// wants next is to be done too.
func (r *Round) apply(e feature.Effect) (goOn bool, err error) {
	switch e := e.(type) {
	case feature.Captured:
		asked, err := r.asks(record.Capture(e))
		if err == nil && !asked {
			err = r.capture(record.Capture(e))
		}
		if err != nil || asked {
			r.notify(feature.NotStored)
			return false, err
		}
	case feature.Advance:
		r.advance()
	case feature.GoTo:
		r.moveTo(e.Index)
		r.retrying, r.returned = true, true
		r.shown.Back++
		r.emit(Event{Kind: EventGauge, Text: "went back: " + r.action()})
	case feature.Fault:
		r.raise(e.Fault, e.Text)
	case feature.Warn:
		r.piped.refused = string(e)
		r.Tell(string(e))
		r.passing = r.shown.State == StateWaiting // what nothing was read for is over with the first reading
	case feature.Ring:
		r.shown.Bell++
		r.emit(Event{Kind: EventGauge, Text: string(e)})
	case feature.Clear:
		if e.Fault == "" || e.Fault == r.shown.Fault {
			r.clear()
		}
	case feature.Stop:
		r.addStop(e)
		r.emit(Event{Kind: EventStop})
	case feature.Rock:
		if r.touched, r.shown.State = true, StateMeasuring; e.Sound && r.shown.Fault != "" {
			r.clear()
		}
		r.emit(Event{Kind: EventRock, Text: r.feat.Amount(e.Value, r.decimals())})
	case feature.Moving:
		r.enter(StateMoving)
	case feature.Measuring:
		r.shown.State = StateMeasuring
	case feature.Block:
		r.blocked = e.Name
		if r.cfg.Override != "" { // the reason is recorded first
			err := r.override(r.cfg.Override)
			return err == nil, err
		}
		r.raise("", e.Text)
		r.piped.refused = e.Text
		return false, nil
	case feature.Doubt:
		r.doubt = string(e)
	}
	return true, nil
}

// asks asks before a capture is stored that may be wrong: its measurer doubts it, or
// it would take the place of one of this round that differs from it by more than
// both are uncertain. The same once more is the answer yes, any other value the
// answer no, which is taken in its place; from a file or a pipe nobody answers,
// and what follows would go to the wrong positions. A bolt that was pulled again
// has its new torque, and where there is a single place it cannot be mistaken.
func (r *Round) asks(c record.Capture) (bool, error) {
	before, old := r.doubted, r.slots[r.current]
	again := before != nil && c.Value == before.Value
	mistaken := old.ID > 0 && len(r.visits) > 1 && !r.inPasses() && !r.feat.Together && differ(c, old)
	text := r.doubt + ". Type it again if it is so, or type the right one."
	switch {
	case before != nil && r.cfg.Piped && !again:
		return false, r.unanswered()
	case again, r.doubt == "" && (!mistaken || before != nil && !differ(c, *before)):
		return false, nil
	case r.doubt == "":
		text = fmt.Sprintf("%s has %s stored, and this is %s. Is it the same place? Give it once more to replace it, or press n to keep what is stored.",
			feature.Capitalise(feature.Place(r.visits[r.current].Position)), r.setup.InManual(old.Value, r.decimals()), r.setup.InManual(c.Value, r.decimals()))
	}
	r.doubted, r.piped.doubted, r.piped.why = &c, r.piped.line, r.doubt
	r.raise("", text)
	return true, nil
}

// unanswered ends values from a file or a pipe at one that was doubted.
func (r *Round) unanswered() error {
	return &LineError{r.piped.doubted, r.shown.Stored, false, fmt.Errorf("%s: %s and is not stored, nor is what follows: correct it, or give it twice if it is so",
		feature.AtAngle(r.visits[r.current].Position), r.piped.why)}
}

// differ reports whether two captures differ by more than both are uncertain, at
// 95 %. Source: JCGM 100:2008, 5.1.2 and 6.2.1. An uncertainty that is not known
// excuses nothing.
func differ(a, b record.Capture) bool {
	var variance float64
	for _, u := range []float64{a.U, b.U} {
		if u > 0 {
			variance += u * u
		}
	}
	return math.Abs(a.Value-b.Value) > gum.Coverage*math.Sqrt(variance)
}

// action is the next thing to do, in one sentence or two short ones.
func (r *Round) action() string {
	switch {
	case r.Done() && r.shown.Outcome.Next != "":
		return r.shown.Outcome.Next
	case r.Done():
		return feature.Capitalise(r.doneText()) + "."
	case r.paused:
		return "Paused. Nothing is measured until you go on."
	case r.shown.State == StateLost:
		return "Plug the gauge in again."
	case r.returned && r.measure.Progress().Rocks == 0:
		return "Back to " + feature.Place(r.visits[r.current].Position) + ", by two quick lifts. Rock it again, or press n to go on."
	case r.captured() && r.shown.State != StateCaptured && (r.cfg.Keyed || r.inPasses()):
		return feature.Capitalise(r.visits[r.current].Position.Label) + " is stored; n goes on. To replace it: " + r.measure.Ask(r.at())
	}
	return r.measure.Ask(r.at())
}

// act is what to do now in a word or two, to be read from two metres; "" where
// the sentence alone says it.
func (r *Round) act() string {
	at, p := r.at(), r.measure.Progress()
	rocked, stored := p.Wanted > 1, r.shown.State == StateCaptured
	turn := func(v feature.Visit) string {
		if math.IsNaN(v.Position.AngleDeg) {
			return v.Position.Label
		}
		return fmt.Sprintf("turn to %d", v.Position.Index)
	}
	switch {
	case r.Done(), r.paused, r.shown.State == StateLost:
		return ""
	case r.returned && p.Rocks == 0:
		return fmt.Sprintf("back to %d", at.Position.Index)
	case at.Turn > 0:
		return fmt.Sprintf("bolt %d on %g°", at.Position.Index, at.Turn)
	case at.Passes > 0:
		return fmt.Sprintf("pull bolt %d", at.Position.Index)
	case len(r.visits) == 1 && r.cfg.Keyed:
		return "type it"
	case len(r.visits) == 1:
		return ""
	case stored && rocked && r.cfg.HandsOff:
		return "lift"
	case stored && rocked:
		return "press n"
	case stored && at.NextIndex >= 0:
		return turn(at.Next)
	case at.Captured:
		return "stored"
	case rocked && r.cfg.ByKey && p.Rocks >= p.Wanted:
		return "press space"
	case rocked && p.Rocks > 0:
		return fmt.Sprintf("rock %d more", max(1, p.Wanted-p.Rocks))
	case rocked && len(r.stops) > 0:
		return fmt.Sprintf("rock %d times", p.Wanted)
	}
	return turn(at.Visit)
}
