package logger

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"crownlog/device"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// Commands that carry something are made by functions: the word, then what it
// carries.
const wordOverride, wordPattern, wordValue = "override", "pattern", "value"

// CmdOverride passes a block, with the reason that goes on record.
func CmdOverride(reason string) Command { return Command(wordOverride + " " + reason) }

// CmdPattern enters a contact pattern: along from -1 toe to +1 heel, up from
// -1 root to +1 face.
func CmdPattern(along, up float64) Command {
	return Command(fmt.Sprintf("%s %g %g", wordPattern, along, up))
}

// CmdKeyed enters a value as if it had been keyed, in unit or, where that is
// empty, in the feature's own.
func CmdKeyed(v float64, unit string) Command {
	return Command(fmt.Sprintf("%s %g %s", wordValue, v, unit))
}

// Command does what a key, a pedal or a gesture asks. An error means that a
// capture could not be stored, or that the command is none; a command that has
// nothing to do says so in the view.
func (r *Round) Command(c Command) error {
	return r.Handle(device.Event{Kind: device.EventCommand, Time: r.time(), Text: string(c)})
}

func (r *Round) do(c Command) error {
	word, rest, _ := strings.Cut(string(c), " ")
	switch Command(word) {
	case CmdNext:
		r.step(1)
	case CmdBack:
		r.step(-1)
	case CmdCapture:
		if r.ready() {
			return r.send(feature.Input{Kind: feature.Accept})
		}
	case CmdClick:
		if r.ready() {
			return r.send(feature.Input{Kind: feature.Clicked, Time: r.time(), Gauge: "keyed"})
		}
	case CmdClickPass:
		return r.clickPass()
	case CmdRetry:
		r.flip.on = false
		r.moveTo(r.current)
		r.retrying, r.shown.State = true, StateMeasuring
	case CmdUndo:
		return r.undo()
	case CmdPause:
		if r.paused = !r.paused; !r.paused {
			r.notify(feature.Reset)
		}
	case wordOverride:
		return r.override(rest)
	case wordPattern:
		return r.enterPattern(rest)
	case wordValue:
		return r.keyed(rest)
	default:
		return fmt.Errorf("unknown command %q", c)
	}
	return nil
}

// clickPass takes the clicks of all bolts that an early pass still lacks. The last
// pass, which the bolts are judged by, is told bolt by bolt.
func (r *Round) clickPass() error {
	v := r.visits[r.current]
	if v.Final {
		r.Tell("Only a pass before the last is entered at once: the last is told bolt by bolt.")
		return nil
	}
	for at := -1; r.current != at && r.visits[r.current].Pass == v.Pass && !r.captured(); {
		at = r.current
		if err := r.do(CmdClick); err != nil { // the readings keep the one command
			return err
		}
	}
	return nil
}

// step goes to the neighbouring visit; past the last it goes to the first that
// is missing.
func (r *Round) step(by int) {
	k := r.current + by
	if r.Done() && by < 0 {
		k = r.current
	}
	switch {
	case r.Done() && by > 0:
	case k < 0:
		r.Tell("This is the first position.")
	case k < len(r.visits):
		left, rocked := r.visits[r.current].Position, r.slots[r.current].ID == 0 && r.measure.Progress().Rocks > 0
		if r.moveTo(k); rocked {
			r.Tell(feature.Capitalise(feature.Place(left)) + " is NOT stored: too few rocks. It comes again after the others, or press b.")
		}
	default:
		r.advance()
	}
}

// ready reports whether a command finds something to measure: not while the
// round is held, nor once all is stored, which it says.
func (r *Round) ready() bool {
	if len(r.held) > 0 {
		return false
	}
	if r.Done() {
		r.Tell(feature.AllStored)
	}
	return !r.Done()
}

// override passes the hold points or the block with a reason, which is recorded
// first.
func (r *Round) override(reason string) error {
	switch err := record.CheckReason(reason); {
	case err != nil:
		r.Tell(feature.Capitalise(err.Error()) + ".")
		return nil
	case len(r.held) == 0 && r.blocked == "":
		r.Tell("Nothing is blocked.")
		return nil
	}
	for len(r.held) > 0 {
		if _, err := record.AddOverride(r.cfg.Store, r.cfg.Stage, r.held[0].Name, reason, r.time()); err != nil {
			return err
		}
		r.held = r.held[1:]
	}
	if r.blocked == "" {
		return nil
	}
	if _, err := record.AddOverride(r.cfg.Store, r.cfg.Stage, r.blocked, reason, r.time()); err != nil {
		return err
	}
	r.overridden, r.blocked = true, ""
	r.clear()
	return nil
}

// keyed takes a value, with its unit behind it, at the current visit.
func (r *Round) keyed(value string) error {
	text, unit, _ := strings.Cut(value, " ")
	if !r.ready() {
		return nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Errorf("value %q: want a number", text)
	}
	return r.send(feature.Input{Kind: feature.Typed, Value: v, Unit: unit, Time: r.time(), Gauge: "keyed"})
}

// enterPattern stores where a contact lies, along and up, each at its own
// position: a pattern that is entered again supersedes both.
func (r *Round) enterPattern(places string) error {
	if len(r.held) > 0 {
		return nil
	}
	var values [2]float64
	if n, _ := fmt.Sscan(places, &values[0], &values[1], new(string)); n != len(values) || !r.feat.Together {
		return fmt.Errorf("pattern %q: want a place along and a place up the tooth, where a pattern is asked for", places)
	}
	for _, v := range values {
		if err := r.feat.Check(r.feat, v); err != nil {
			r.Tell(feature.Capitalise(err.Error()) + ".")
			return nil
		}
	}
	for k, v := range values {
		r.moveTo(k)
		r.retrying = true
		if err := r.send(feature.Input{Kind: feature.Typed, Value: v, Time: r.time(), Gauge: "keyed"}); err != nil {
			return err
		}
	}
	return nil
}

// time is now by the events, or by the clock before the first.
func (r *Round) time() time.Time {
	if r.now.IsZero() {
		return r.cfg.Now()
	}
	return r.now
}

// Hold makes the round wait for the hold points before it: nothing is captured
// until they are cleared, which is found out here, or passed by an override.
// Where the round has a reason to override they are passed now, which is
// recorded first; the error says that it could not be.
func (r *Round) Hold() error {
	j := job.Job{Sheet: r.cfg.Sheet, Captures: r.cfg.Store.Captures()}
	r.holds = true
	r.held = j.Step(r.cfg.Stage, r.cfg.Feature, job.HoldPoints(j.Sheet, j.Captures)).Hold
	if r.cfg.Override == "" || len(r.held) == 0 {
		return nil
	}
	return r.override(r.cfg.Override)
}

// Held lists the hold points that this round waits for.
func (r *Round) Held() []job.HoldPoint { return r.held }

// A LineError ends values from a file or a pipe at a line that was not taken:
// were the round to go on, the values behind it would go to the wrong places.
// What stood above the line is stored.
type LineError struct {
	Line   int  // from 1
	Stored int  // values of the round that stand
	Over   bool // the round had all its values before this line
	err    error
}

func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.err) }
func (e *LineError) Unwrap() error { return e.err }

// piped is how far values from a file or a pipe were read.
type piped struct {
	line    int    // the latest that held something
	doubted int    // that of a value which waits to be given twice
	why     string // it waits
	refused string // why the round took nothing from the line
}

// take hands an event on to the round, and ends the round at a line of which
// nothing came.
func (p *piped) take(r *Round, ev device.Event) error {
	above, bell := p.line, r.shown.Bell
	p.line, p.refused = max(above, ev.Line), ""
	switch {
	case ev.Line > 0 && r.Done():
		return &LineError{p.line, r.shown.Stored, true, fmt.Errorf("it is left over: %s is complete without it", r.feat.Title)}
	case above > 0 && ev.Line > above+1:
		return &LineError{above + 1, r.shown.Stored, false, errors.New("it is empty: the place of the value behind it is not known")}
	case ev.Kind == device.EventGarbled:
		r.shown.Garbled++
		return &LineError{p.line, r.shown.Stored, false, errors.New(ev.Text)}
	}
	doubted := r.doubted
	err := r.event(ev)
	switch {
	case err != nil:
	case doubted != nil && doubted == r.doubted && ev.Line > 0:
		return r.unanswered()
	case p.refused != "" && r.shown.Bell == bell:
		return &LineError{p.line, r.shown.Stored, false, errors.New(strings.TrimSuffix(p.refused, "."))}
	}
	return err
}
