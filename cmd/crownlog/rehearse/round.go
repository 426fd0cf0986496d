package rehearse

import (
	"context"
	"errors"
	"fmt"
	"time"

	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/simbench"
	"crownlog/logger"
	"crownlog/logger/job"
)

// measure runs one round with the simulated hands at the gear.
func (r *Rehearsal) measure(ctx context.Context, step job.Step, t task) (err error) {
	f := newFitter(r, step, t)
	config := logger.RoundConfig{
		Sheet: r.Folder.Sheet(), Stage: step.Stage, Feature: step.Feature, Store: r.Folder,
		HandsOff: !r.ByKey, NoKeys: !r.ByKey && !f.levels(), ByKey: r.ByKey, Continuous: t.turning, Keyed: len(t.gauges) == 0,
		Now: r.Bench.Now,
		Listen: func(ev logger.Event) {
			r.Listen(ev)
			f.follow(ev)
		},
	}
	sources, err := r.plug(&config, t)
	if err != nil {
		return err
	}
	readings := &live.Readings{Folder: r.Folder, Stage: step.Stage, Feature: step.Feature}
	defer func() { err = errors.Join(err, readings.Close()) }()
	if len(sources) > 0 {
		config.Readings = readings
	}
	round, err := logger.NewRound(config)
	if err != nil {
		return err
	}
	r.Lesson.begin(ctx, step.Feature)
	r.emit(step.Title)
	out, err := r.run(ctx, round, f, sources)
	if err != nil || ctx.Err() != nil {
		return err
	}
	if !out.Done {
		return fmt.Errorf("%s, %s: the simulated hands did not come to an end", step.Feature, step.Stage)
	}
	if r.Watched { // the result stays for a moment
		pause(ctx, r.Pause)
	}
	for _, line := range r.Summary(out.View) {
		fmt.Fprintln(r.Lines, line)
	}
	return nil
}

// plug makes the gauges of a task ready to be read and tells the round what
// they are.
func (r *Rehearsal) plug(config *logger.RoundConfig, t task) ([]live.Source, error) {
	var sources []live.Source
	for i, g := range t.gauges {
		profile, _, err := device.FindProfile(g.profile)
		if err != nil {
			return nil, err
		}
		sources = append(sources, device.NewGauge(g.label, profile, g.instrument.Open, r.Bench.Now))
		if i == 0 {
			config.Resolution, config.Unit, config.Gauge = g.instrument.Resolution, profile.Unit, g.label
		}
	}
	return sources, nil
}

// run feeds the round until it is done.
func (r *Rehearsal) run(ctx context.Context, round *logger.Round, f *fitter, sources []live.Source) (live.Outcome, error) {
	if len(sources) == 0 {
		return r.key(ctx, round, f.task.keyed)
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	r.Bench.Expect(len(sources))
	f.start()
	late := r.Bench.Now().Add(longestRound)
	g := live.Start(ctx, sources...)
	defer func() {
		g.Stop()
		r.Bench.Do(simbench.Rest())
	}()
	out, err := live.Run(ctx, live.Config{Round: round, Gauges: g, Hub: r.Hub, Handled: func(ev device.Event) {
		if err := f.handled(round, ev); err != nil {
			stop(err)
		}
		if !r.ByKey && ev.Time.After(late) {
			stop(context.DeadlineExceeded)
		}
	}})
	if cause := context.Cause(ctx); cause != nil && !errors.Is(cause, context.Canceled) {
		err = errors.Join(err, cause)
	}
	return out, err
}

// key types in what has no gauge, at a pace the eye can follow.
func (r *Rehearsal) key(ctx context.Context, round *logger.Round, commands []logger.Command) (live.Outcome, error) {
	for _, c := range commands {
		if err := round.Command(c); err != nil {
			return live.Outcome{}, err
		}
		if r.Watched {
			r.Hub.Publish(round.View())
			pause(ctx, keyPause)
		}
	}
	return live.Outcome{View: round.View(), Done: round.Done()}, nil
}

// pause waits for d, or until ctx ends.
func pause(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(d):
	}
}
