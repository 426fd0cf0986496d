package live

import (
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
)

// ErrGaugeLost ends a round whose gauge never came back.
var ErrGaugeLost = errors.New("gauge lost")

// Config says how one round is run.
type Config struct {
	Round   *logger.Round
	Gauges  *Gauges
	Hub     *Hub               // nil: nobody watches
	Stay    bool               // go on after the last position, until the user asks for something else, so that it can be undone
	Labels  []string           // of the gauges the round subscribes to; nil: all
	Rest    time.Duration      // how long to look for lines left over once the round is done; 0: not at all
	Wait    time.Duration      // how long a lost gauge may stay away; 0: for ever
	Handled func(device.Event) // called after each event has been handled; may be nil
}

// An Outcome is how a round ended.
type Outcome struct {
	View logger.View
	At   job.Request  // what a session was asked for
	Done bool         // every position is measured
	Lost string       // why the gauge was away at the end; "": it was not
	Next *job.Request // how the user wants to go on; nil: not at all
}

// publishEvery spaces the views of a busy gauge, while the first change after a
// pause is published at once. The screen paints 30 a second; five milliseconds
// are a tenth of what a reading may take to get there.
const publishEvery = 5 * time.Millisecond

// Run feeds gauge events and commands to the round until it is done, its source
// ends, or ctx does. The caller's goroutine owns the round. The error is that of
// a source, of the record, or ErrGaugeLost; the outcome is good beside it.
func Run(ctx context.Context, c Config) (Outcome, error) {
	r := &runner{Config: c}
	if r.Hub == nil {
		r.Hub = NewHub()
	}
	r.Hub.Publish(c.Round.View())
	r.due = time.NewTimer(publishEvery)
	defer r.due.Stop()
	err := r.loop(ctx)
	out := Outcome{View: c.Round.View(), Done: c.Round.Done(), Lost: r.whyLost(), Next: r.next}
	r.Hub.Publish(out.View)
	return out, err
}

// Measure runs one round with sources that work for it alone.
func Measure(ctx context.Context, c Config, sources ...Source) (Outcome, error) {
	c.Gauges = Start(ctx, sources...)
	defer c.Gauges.Stop()
	return Run(ctx, c)
}

// A runner is a round at work.
type runner struct {
	Config
	dirty   bool             // something happened since the last published view, and due will tell
	shown   time.Time        // when that was
	due     *time.Timer      // when the next may be
	timeout <-chan time.Time // when lost gauges are given up; nil: never
	over    <-chan time.Time // when a source that does not end is left; nil: not yet
	next    *job.Request
}

// publish shows what happened, now or as soon as a view is due.
func (r *runner) publish() {
	wait := publishEvery - time.Since(r.shown)
	switch {
	case wait <= 0:
		r.due.Stop()
		r.dirty, r.shown = false, time.Now()
		r.Hub.Publish(r.Round.View())
	case !r.dirty:
		r.dirty = true
		r.due.Reset(wait)
	}
}

func (r *runner) loop(ctx context.Context) error {
	second := time.NewTicker(time.Second)
	defer second.Stop()
	for _, ev := range r.Gauges.away {
		if _, err := r.take(ev); err != nil {
			return err
		}
	}
	for r.Stay || !r.Round.Done() || r.Rest > 0 {
		if r.Rest > 0 && r.over == nil && r.Round.Done() {
			r.over = time.After(r.Rest)
		}
		select {
		case <-ctx.Done():
			return nil
		case ev := <-r.Gauges.events:
			ended, err := r.take(ev)
			if err != nil || ended {
				return err
			}
		case task := <-r.Hub.tasks:
			if err := task(r.Round); err != nil {
				return err
			}
			r.publish()
		case next := <-r.Hub.requests:
			r.next = &next
			return nil
		case err := <-r.Gauges.failed:
			return r.fail(err)
		case <-r.timeout:
			return ErrGaugeLost
		case <-r.over:
			return nil
		case now := <-second.C: // a countdown is read in seconds
			if err := r.Round.Tick(now); err != nil {
				return err
			}
			r.publish()
		case <-r.due.C:
			if r.dirty {
				r.publish()
			}
		}
	}
	return nil
}

// take passes one gauge event on if it is for this round; ended is true when
// the source has no more.
func (r *runner) take(ev device.Event) (ended bool, err error) {
	switch ev.Kind {
	case device.EventLost:
		r.Gauges.away[ev.Gauge] = ev
	case device.EventBack, device.EventReading:
		delete(r.Gauges.away, ev.Gauge)
	}
	if !r.subscribed(ev.Gauge) {
		return false, nil
	}
	switch {
	case ev.Kind == device.EventLost && r.Wait > 0 && r.timeout == nil:
		r.timeout = time.After(r.Wait)
	case ev.Kind != device.EventLost && r.whyLost() == "":
		r.timeout = nil
	}
	err = r.Round.Handle(ev)
	r.publish()
	if r.Handled != nil {
		r.Handled(ev)
	}
	return ev.Kind == device.EventEnd && !r.Stay, err
}

// fail ends the round with the error of a source, after all that was heard
// before. A round that is over by then leaves the error to the next.
func (r *runner) fail(failure error) error {
	for ev := range r.Gauges.Queued() {
		ended, err := r.take(ev)
		if err != nil {
			return errors.Join(failure, err)
		}
		if ended || !r.Stay && r.Round.Done() {
			r.Gauges.failed <- failure
			return nil
		}
	}
	return failure
}

// whyLost says why a gauge of the round is away; "" while all are there.
func (r *runner) whyLost() string {
	for _, label := range slices.Sorted(maps.Keys(r.Gauges.away)) {
		if r.subscribed(label) {
			return r.Gauges.away[label].Text
		}
	}
	return ""
}

// subscribed reports whether a gauge belongs to the round.
func (r *runner) subscribed(label string) bool {
	return r.Labels == nil || slices.Contains(r.Labels, label)
}
