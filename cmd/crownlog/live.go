package main

import (
	"context"
	"errors"
	"iter"
	"maps"
	"os"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/device"
	"crownlog/logger"
)

// A source is a gauge that runs until ctx ends: a serial one, a keyed one, one
// replayed from a file.
type source interface {
	Run(ctx context.Context, out chan<- device.Event) error
}

// gauges are sources at work, each on its own goroutine, feeding one channel.
type gauges struct {
	events chan device.Event
	failed chan error // the error of each source that ended with one, after its events
	cancel context.CancelFunc
	done   sync.WaitGroup
	away   map[string]device.Event // the loss of each gauge that is away, by label; the round's goroutine owns it
}

// startGauges sets the sources to work until ctx ends or stop is called.
func startGauges(ctx context.Context, sources ...source) *gauges {
	ctx, cancel := context.WithCancel(ctx)
	g := &gauges{
		events: make(chan device.Event, 256),
		failed: make(chan error, len(sources)),
		away:   make(map[string]device.Event),
		cancel: cancel,
	}
	for _, s := range sources {
		g.done.Go(func() {
			if err := caught(func() error { return s.Run(ctx, g.events) }); err != nil {
				g.failed <- err
			}
		})
	}
	return g
}

// note remembers which gauges are away, for the rounds to come.
func (g *gauges) note(ev device.Event) {
	switch ev.Kind {
	case device.EventLost:
		g.away[ev.Gauge] = ev
	case device.EventBack, device.EventReading:
		delete(g.away, ev.Gauge)
	}
}

// queued takes the events that wait. All that a source sent are among them once
// its error is in failed.
func (g *gauges) queued() iter.Seq[device.Event] {
	return func(yield func(device.Event) bool) {
		for range len(g.events) {
			if !yield(<-g.events) {
				return
			}
		}
	}
}

// stop ends the sources and waits for them.
func (g *gauges) stop() {
	g.cancel()
	g.done.Wait()
}

// A board is where a round hangs its latest view and where commands for it are
// left. It outlives rounds, so one dashboard can follow a whole job.
type board struct {
	view     atomic.Pointer[logger.View]
	wake     chan struct{}
	commands chan logger.Command
	chores   chan func(*logger.Round) error // for the round's goroutine, which may wait on the disk
	turns    chan dashboard.Turn
}

func newBoard() *board {
	return &board{
		wake: make(chan struct{}, 1), commands: make(chan logger.Command, 16),
		chores: make(chan func(*logger.Round) error, 4), turns: make(chan dashboard.Turn, 1),
	}
}

// publish hangs up v and pokes whoever watches.
func (b *board) publish(v logger.View) {
	b.view.Store(&v)
	select {
	case b.wake <- struct{}{}:
	default:
	}
}

// latest returns the view hung up last.
func (b *board) latest() logger.View {
	if v := b.view.Load(); v != nil {
		return *v
	}
	return logger.View{Current: -1}
}

// command leaves c for the round; with sixteen waiting it is dropped, since the
// keys are then far ahead of the eyes.
func (b *board) command(c logger.Command) {
	select {
	case b.commands <- c:
	default:
	}
}

// chore leaves work that writes to the record for the round's goroutine; with
// four waiting it is dropped like a command.
func (b *board) chore(work func(*logger.Round) error) {
	select {
	case b.chores <- work:
	default:
	}
}

// turn asks that the job goes on with another round; while one such wish waits
// the next is dropped.
func (b *board) turn(t dashboard.Turn) {
	select {
	case b.turns <- t:
	default:
	}
}

// roundConfig says how one round is run.
type roundConfig struct {
	round   *logger.Round
	gauges  *gauges
	board   *board             // nil: nobody watches
	stay    bool               // go on after the last position, until the user turns to something else, so that it can be undone
	hear    []string           // labels of the gauges the round listens to; nil: all
	wait    time.Duration      // how long a lost gauge may stay away; 0: for ever
	handled func(device.Event) // called after each event has been handled; may be nil
}

// An outcome is how a round ended.
type outcome struct {
	view logger.View
	done bool            // every position is measured
	lost string          // the gauge was away at the end; why
	turn *dashboard.Turn // where the user wants to go on; nil: nowhere
}

// sameRound reports whether o and other are of the same feature and stage.
func (o outcome) sameRound(other outcome) bool {
	return o.view.Stage == other.view.Stage && o.view.Feature == other.view.Feature
}

// publishEvery spaces the views of a busy gauge; the screen paints 30 a second.
const publishEvery = 5 * time.Millisecond

// runRound feeds gauge events and commands to the round until it is done, its
// source ends, or ctx does. The caller's goroutine owns the round.
func runRound(ctx context.Context, c roundConfig) (outcome, error) {
	l := &liveRound{roundConfig: c, lost: make(map[string]string)}
	if l.board == nil {
		l.board = newBoard()
	}
	l.board.publish(c.round.View())
	ticker := time.NewTicker(publishEvery)
	defer ticker.Stop()
	err := l.loop(ctx, ticker.C)
	out := outcome{view: c.round.View(), done: c.round.Done(), lost: l.whyLost(), turn: l.turn}
	l.board.publish(out.view)
	return out, err
}

// liveRound is a round at work.
type liveRound struct {
	roundConfig
	dirty   bool              // something happened since the last published view
	lost    map[string]string // why each gauge that is away is, by label
	timeout <-chan time.Time  // when lost gauges are given up; nil: never
	turn    *dashboard.Turn
}

func (l *liveRound) loop(ctx context.Context, tick <-chan time.Time) error {
	for label, ev := range l.gauges.away {
		if l.hears(label) {
			if _, err := l.handle(ev); err != nil {
				return err
			}
		}
	}
	for l.stay || !l.round.Done() {
		select {
		case <-ctx.Done():
			return nil
		case ev := <-l.gauges.events:
			ended, err := l.take(ev)
			if err != nil || ended {
				return err
			}
		case cmd := <-l.board.commands:
			l.dirty = true
			if err := l.round.Command(cmd); err != nil {
				return err
			}
		case work := <-l.board.chores:
			l.dirty = true
			if err := work(l.round); err != nil {
				return err
			}
		case turn := <-l.board.turns:
			l.turn = &turn
			return nil
		case err := <-l.gauges.failed:
			return l.fail(err)
		case <-l.timeout:
			return errGaugeLost
		case <-tick:
			if l.dirty {
				l.dirty = false
				l.board.publish(l.round.View())
			}
		}
	}
	return nil
}

// take passes one gauge event on if it is for this round; ended is true when
// the source has no more.
func (l *liveRound) take(ev device.Event) (ended bool, err error) {
	l.gauges.note(ev)
	if !l.hears(ev.Gauge) {
		return false, nil
	}
	return l.handle(ev)
}

// fail ends the round with the error of a source, after all that was heard
// before. A round that is over by then leaves the error to the next.
func (l *liveRound) fail(failure error) error {
	for ev := range l.gauges.queued() {
		ended, err := l.take(ev)
		if err != nil {
			return errors.Join(failure, err)
		}
		if ended || !l.stay && l.round.Done() {
			l.gauges.failed <- failure
			return nil
		}
	}
	return failure
}

// whyLost says why a gauge is away; "" while all are there.
func (l *liveRound) whyLost() string {
	labels := slices.Sorted(maps.Keys(l.lost))
	if len(labels) == 0 {
		return ""
	}
	return l.lost[labels[0]]
}

// hears reports whether a gauge belongs to the round.
func (l *liveRound) hears(label string) bool { return l.hear == nil || slices.Contains(l.hear, label) }

// handle passes one gauge event on; ended is true when the source has no more.
func (l *liveRound) handle(ev device.Event) (ended bool, err error) {
	l.dirty = true
	switch ev.Kind {
	case device.EventLost:
		l.lost[ev.Gauge] = ev.Text
		if l.wait > 0 && l.timeout == nil {
			l.timeout = time.After(l.wait)
		}
	case device.EventBack, device.EventReading:
		if delete(l.lost, ev.Gauge); len(l.lost) == 0 {
			l.timeout = nil
		}
	}
	err = l.round.Handle(ev)
	if l.handled != nil {
		l.handled(ev)
	}
	return ev.Kind == device.EventEnd && !l.stay, err
}

// withScreen shows b on the dashboard while body runs beside it. Quitting the
// dashboard ends body's context; body's return ends the dashboard. src brings
// what the board does not have: the job, a way to pass a hold point.
func withScreen(ctx context.Context, b *board, src dashboard.Source, body func(context.Context) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	src.Latest, src.Wake, src.Command = b.latest, b.wake, b.command
	result := make(chan error, 1)
	go func() {
		defer cancel()
		result <- caught(func() error { return body(ctx) })
	}()
	screenErr := dashboard.Run(ctx, nil, src, screenOptions(os.Getenv))
	if screenErr != nil {
		screenErr = usagef("give --no-screen for plain lines", "%w", screenErr)
	}
	cancel()
	return errors.Join(screenErr, <-result)
}

// A showing says how a round is shown while it is measured.
type showing struct {
	screen bool          // on the dashboard; else in plain lines, by the round's own listener
	begin  func()        // in plain lines: called once the gauge is heard; may be nil
	wait   time.Duration // in plain lines: how long a lost gauge may stay away
}

// measureRound runs the sources through a round. On the dashboard the round
// stays until the user leaves, so that the last position can be undone.
func measureRound(ctx context.Context, round *logger.Round, s showing, sources ...source) (out outcome, err error) {
	if !s.screen {
		g := startGauges(ctx, sources...)
		defer g.stop()
		c := roundConfig{round: round, gauges: g, wait: s.wait}
		if s.begin != nil {
			begin := sync.OnceFunc(s.begin)
			c.handled = func(device.Event) { begin() }
		}
		return runRound(ctx, c)
	}
	b := newBoard()
	err = withScreen(ctx, b, dashboard.Source{}, func(ctx context.Context) (err error) {
		g := startGauges(ctx, sources...)
		defer g.stop()
		out, err = runRound(ctx, roundConfig{round: round, gauges: g, board: b, stay: true})
		return err
	})
	return out, err
}

// wholeJob is the job as it stands, for the dashboard.
func wholeJob(folder *logger.JobFolder) dashboard.JobView {
	sheet, captures := folder.Sheet(), folder.Captures()
	return dashboard.JobView{
		Vehicle: sheet.Vehicle.Label, Invented: sheet.Invented,
		Steps: logger.Job{Sheet: sheet, Captures: captures}.Steps(),
		Holds: logger.HoldPoints(sheet, captures), Moves: logger.MoveHistory(sheet, captures),
	}
}
