package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"crownlog/device"
	"crownlog/device/simbench"
	"crownlog/logger"
)

// measure runs one round with the simulated hands at the gear.
func (r *rehearsal) measure(ctx context.Context, step logger.Step, t task) (err error) {
	f := newFitter(r, step, t)
	config := logger.RoundConfig{
		Sheet: r.sheet, Stage: step.Stage, Feature: step.Feature, Store: r.folder,
		HandsOff: !r.byKey, NoKeys: !r.byKey && !f.levels(), ByKey: r.byKey, Continuous: t.turning, Keyed: len(t.gauges) == 0,
		Listen: r.listener(f), Now: r.bench.Now,
	}
	sources, err := r.plug(&config, t)
	if err != nil {
		return err
	}
	if len(sources) > 0 {
		readings, err := r.folder.Readings(step.Stage, step.Feature)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, readings.Close()) }()
		config.Readings = readings
	}
	round, err := logger.NewRound(config)
	if err != nil {
		return err
	}
	r.tell(step.Title)
	out, err := r.run(ctx, round, f, sources)
	if err = errors.Join(err, round.Close()); err != nil || ctx.Err() != nil {
		return err
	}
	if !out.done {
		return fmt.Errorf("%s, %s: the simulated hands did not come to an end", step.Feature, step.Stage)
	}
	r.noteTruth(step, t, out)
	return r.showResult(ctx, out)
}

// plug makes the gauges of a task ready to be read and tells the round what
// they are.
func (r *rehearsal) plug(config *logger.RoundConfig, t task) ([]source, error) {
	var sources []source
	for i, g := range t.gauges {
		profile, err := device.FindProfile(g.profile)
		if err != nil {
			return nil, err
		}
		instrument := g.of(r.bench)
		sources = append(sources, device.NewGauge(g.label, profile, instrument.Open, r.bench.Now))
		if i == 0 {
			config.Resolution, config.Unit, config.Gauge = instrument.Resolution(), profile.Unit, g.label
		}
	}
	return sources, nil
}

// run feeds the round until it is done.
func (r *rehearsal) run(ctx context.Context, round *logger.Round, f *fitter, sources []source) (outcome, error) {
	if len(sources) == 0 {
		return r.key(ctx, round, f.task.keyed)
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	r.bench.Expect(len(sources))
	f.start()
	late := r.bench.Now().Add(longestRound)
	g := startGauges(ctx, sources...)
	defer func() {
		g.stop()
		r.bench.Do(simbench.Rest())
	}()
	out, err := runRound(ctx, roundConfig{round: round, gauges: g, board: r.board, handled: func(ev device.Event) {
		if err := f.handled(round, ev); err != nil {
			stop(err)
		}
		if !r.byKey && ev.Time.After(late) {
			stop(context.DeadlineExceeded)
		}
	}})
	if cause := context.Cause(ctx); cause != nil && !errors.Is(cause, context.Canceled) {
		err = errors.Join(err, cause)
	}
	return out, err
}

// key types in what has no gauge, at a pace the eye can follow.
func (r *rehearsal) key(ctx context.Context, round *logger.Round, commands []logger.Command) (outcome, error) {
	for _, c := range commands {
		if err := round.Command(c); err != nil {
			return outcome{}, err
		}
		if r.board != nil {
			r.board.publish(round.View())
			pause(ctx, keyPause)
		}
	}
	return outcome{view: round.View(), done: round.Done()}, nil
}

// pause waits for d, or until ctx ends.
func pause(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(d):
	}
}
