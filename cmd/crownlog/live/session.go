package live

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"time"

	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

// A Session is one program run at one job: a single round, or round after round
// with the same gauges.
type Session struct {
	Folder     *job.Folder
	Ports      []Port // the gauges; what none of them reads is typed
	Label      string // name that typed readings are kept under
	HandsOff   bool   // go to the next position when the plunger is lifted
	Continuous bool   // run-out: one continuous turn instead of positions
	Piped      bool   // typed values come from a file or program
}

// A Round is a round of the session with the file of its readings.
type Round struct {
	*logger.Round
	*Readings
	labels []string // of its gauges
}

// Open starts the round that is asked for. override passes the hold points
// before it, with that reason on record; listen gets its events where there is
// no screen and nobody to press a key, and is nil otherwise.
func (s *Session) Open(at job.Request, override string, listen func(logger.Event)) (Round, error) {
	config := logger.RoundConfig{
		Sheet: s.Folder.Sheet(), Stage: at.Stage, Feature: at.Feature, Store: s.Folder, Gauge: s.Label,
		HandsOff: s.HandsOff, Continuous: s.Continuous, Again: at.Again, Remeasure: at.Remeasure, Override: override,
		Listen: listen, NoKeys: listen != nil, Piped: s.Piped,
	}
	chosen := PortsFor(s.Ports, at.Feature)
	labels := []string{}
	for _, p := range chosen {
		labels = append(labels, p.Label)
	}
	if len(chosen) > 0 {
		config.Unit, config.Gauge = chosen[0].Profile.Unit, chosen[0].Label
		config.Resolution = chosen[0].resolution()
	}
	config.Keyed = len(chosen) == 0
	readings := &Readings{Folder: s.Folder, Stage: at.Stage, Feature: at.Feature}
	config.Readings = readings
	round, err := logger.NewRound(config)
	if err != nil {
		return Round{}, err
	}
	return Round{round, readings, labels}, round.Hold()
}

// Readings keep the raw readings of a round in a file that is made when the first
// one comes.
type Readings struct {
	Folder         *job.Folder
	Stage, Feature string
	to             *journal.ReadingsWriter // nil: none came
}

// Record writes one gauge event.
func (f *Readings) Record(ev device.Event) (err error) {
	if f.to == nil {
		f.to, err = f.Folder.Readings(f.Stage, f.Feature)
	}
	if err != nil {
		return err
	}
	return f.to.Record(ev)
}

// Close ends the file, if there is one.
func (f *Readings) Close() error {
	if f.to == nil {
		return nil
	}
	return f.to.Close()
}

// Run measures round after round, as is asked at the hub, until ctx ends. Only
// the first may pass its hold points with override. The outcomes are those of
// rounds in which something stands, the last of each feature in a stage; they
// are good beside an error too.
func (s *Session) Run(ctx context.Context, h *Hub, first job.Request, override string) ([]Outcome, error) {
	g := Start(ctx, Sources(s.Ports)...)
	defer g.Stop()
	var ends []Outcome
	for at := first; ; override = "" {
		round, err := s.Open(at, override, nil)
		if err != nil {
			return ends, err
		}
		out, err := Run(ctx, Config{Round: round.Round, Gauges: g, Hub: h, Stay: true, Labels: round.labels})
		if out.At = at; out.View.Stored > 0 {
			ends = append(slices.DeleteFunc(ends, func(o Outcome) bool {
				return o.View.Stage == out.View.Stage && o.View.Feature == out.View.Feature
			}), out)
		}
		if err = errors.Join(err, round.Close()); err != nil || out.Next == nil {
			return ends, err
		}
		if at, err = s.follow(*out.Next, at); err != nil {
			return ends, err
		}
	}
}

// follow records the move the user reports, and says what is measured next.
func (s *Session) follow(r, at job.Request) (job.Request, error) {
	at.Again, at.Remeasure = false, false
	if moved := r.Moved; moved != (record.Move{}) {
		moved.Unit = s.Folder.Sheet().MoveUnit()
		if _, err := record.AddMove(s.Folder, at.Stage, moved, time.Now()); err != nil {
			return at, err
		}
		j := job.Job{Sheet: s.Folder.Sheet(), Captures: s.Folder.Captures()}
		if caps, torqued := j.CapsAgain(at.Stage); torqued {
			return caps, nil
		}
		return at, nil
	}
	if r.Feature != "" {
		return r, nil
	}
	step, ok := job.Job{Sheet: s.Folder.Sheet(), Captures: s.Folder.Captures()}.Next()
	if !ok {
		return at, nil
	}
	again := step.Stage == at.Stage && step.Feature == at.Feature // it is outside
	return job.Request{Stage: step.Stage, Feature: step.Feature, Remeasure: again}, nil
}

// Keep is a task for a hub: it keeps a file with the step at hand or, without a
// path, a note, and says on the screen what became of it.
func (s *Session) Keep(path, note string) func(*logger.Round) error {
	return func(r *logger.Round) error {
		v, err := r.View(), error(nil)
		what := record.Title(v.Feature)
		if v.Current >= 0 && len(v.Positions) > 1 {
			what += ", " + feature.Place(v.Positions[v.Current].Position)
		}
		if path == "" {
			_, err = record.AddNote(s.Folder, v.Stage, what+": "+note, time.Now())
		} else {
			_, err = s.Folder.Attach(v.Stage, path, what, time.Now())
		}
		if err != nil {
			r.Tell("NOT stored: " + err.Error() + ".")
		} else {
			r.Tell("Stored with " + what + ".")
		}
		return nil
	}
}

// Tick is a task for a hub: it ticks the named entry of the lists, once, and lets the
// round go on if that was the last it waited for.
func (s *Session) Tick(name string) func(*logger.Round) error {
	return func(r *logger.Round) error {
		check, err := job.Job{Sheet: s.Folder.Sheet(), Captures: s.Folder.Captures()}.Check(name)
		if err == nil && check.Tick.ID == 0 {
			_, err = check.TickOff(s.Folder, "", time.Now())
		}
		return errors.Join(err, r.Hold())
	}
}

// Override is a task for a hub: it records that a hold point is passed, and lets
// the round go on if it was the one it waited for.
func (s *Session) Override(hold, reason string) func(*logger.Round) error {
	return func(r *logger.Round) error {
		if record.CheckReason(reason) != nil {
			return r.Command(logger.CmdOverride(reason)) // which says so
		}
		if _, err := record.AddOverride(s.Folder, r.View().Stage, hold, reason, time.Now()); err != nil {
			return err
		}
		return r.Hold()
	}
}

// A Crash is a panic of a goroutine that works beside the dashboard. It is
// passed on as an error, so that the terminal is restored and the record closed
// before the program panics with it.
type Crash struct {
	Cause any
	stack []byte // of the goroutine that panicked
}

// Error says what the panic was about and where.
func (c *Crash) Error() string { return fmt.Sprintf("%v\n\n%s", c.Cause, c.stack) }

// Caught returns what f returns, or its panic as a *Crash.
func Caught(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &Crash{p, debug.Stack()}
		}
	}()
	return f()
}
