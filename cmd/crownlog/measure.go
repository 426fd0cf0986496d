package main

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

type measureCmd struct {
	Job        string        `arg:"" help:"Job folder."`
	Feature    string        `help:"What to measure: backlash, runout-back-face, bolt-torque-caps, ... Default: what the job needs next."`
	Stage      string        `help:"Stage of the job: as-found, bench, set-up, caps-torqued, final. Default: what the job needs next."`
	Port       []string      `help:"Serial port of a gauge; again for each further gauge." placeholder:"PORT" sep:"none"`
	Gauge      []string      `help:"Gauge profile, by name or file, of the port in the same place. Default: the sheet's, or text." placeholder:"PROFILE" sep:"none"`
	Keyed      bool          `help:"No serial gauge: one value a line, typed or piped in."`
	NoScreen   bool          `help:"Print plain lines instead of the dashboard."`
	JSON       bool          `name:"json" help:"Print events as JSON lines; no dashboard."`
	Again      bool          `help:"Measure the feature anew; the new captures supersede the old ones."`
	HandsOff   bool          `help:"Go to the next position when the plunger is lifted." default:"true" negatable:""`
	Continuous bool          `help:"Run-out: one continuous turn instead of positions."`
	Override   string        `help:"Pass a hold point; the reason goes on record." placeholder:"REASON"`
	Wait       time.Duration `help:"Without a dashboard: how long a lost gauge may stay away; 0: for ever." default:"30s"`
}

// Run measures one round; on the dashboard it goes on with the job from there.
func (c *measureCmd) Run(ctx context.Context, con *console) error {
	if c.onScreen(con) {
		if err := drawable(); err != nil {
			return err
		}
	}
	return withJob(con, c.Job, func(f *job.Folder) error { return c.measure(ctx, con, f) })
}

func (c *measureCmd) measure(ctx context.Context, con *console, folder *job.Folder) error {
	if err := c.choose(folder); err != nil {
		return err
	}
	sheet := folder.Sheet()
	ports, err := c.gauges(con, sheet)
	if err != nil {
		return err
	}
	s := &live.Session{
		Folder: folder, Ports: ports, Label: c.label(sheet), HandsOff: c.HandsOff, Continuous: c.Continuous,
		Piped: c.Keyed && !isTerminal(con.in),
	}
	first := job.Request{Stage: c.Stage, Feature: c.Feature, Again: c.Again}
	if c.onScreen(con) {
		return c.onDashboard(ctx, con, s, first)
	}
	return c.inPlainLines(ctx, con, s, first)
}

// onDashboard measures round after round until the user leaves. It prints how
// each ended.
func (c *measureCmd) onDashboard(ctx context.Context, con *console, s *live.Session, first job.Request) error {
	hub := live.NewHub()
	src := jobSource(s.Folder, c.Stage)
	src.Next = hub.Request
	src.Override = func(hold, reason string) { hub.Do(s.Override(hold, reason)) }
	src.Division = s.Folder.Sheet().Gauge.ResolutionMM
	var ends []live.Outcome
	err := withScreen(ctx, hub, src, func(ctx context.Context) (err error) {
		ends, err = s.Run(ctx, hub, first, c.Override)
		return err
	})
	if err != nil {
		return err
	}
	return sumUp(con, ends)
}

// sumUp prints how each round ended and makes the exit code of the worst.
func sumUp(con *console, ends []live.Outcome) error {
	var worst error
	for _, out := range ends {
		if err := conclude(con, out, false); err != nil {
			worst = err
		}
		if !out.Done {
			worst = errOutside
		}
	}
	if n := len(ends); worst == nil && n > 0 && ends[n-1].Lost != "" {
		return lostError(live.ErrGaugeLost, ends[n-1])
	}
	return worst
}

// inPlainLines measures one round. Its gauges alone are opened.
func (c *measureCmd) inPlainLines(ctx context.Context, con *console, s *live.Session, at job.Request) error {
	round, err := s.Open(at, c.Override, plainListener(con, c.JSON))
	if err != nil {
		return err
	}
	if held := round.Held(); len(held) > 0 {
		return errors.Join(usagef("clear that first, or pass it with --override and the reason, which stays in the record",
			"%s", strings.TrimSuffix(held[0].Reason, ".")), round.Close())
	}
	first := round.View().Action
	begin := sync.OnceFunc(func() { con.say("%s", first) })
	config := live.Config{Round: round.Round, Wait: c.Wait}
	if c.Keyed {
		begin()
	} else { // a port that does not open has one line to itself
		config.Handled = func(device.Event) { begin() }
	}
	out, err := live.Measure(ctx, config, c.sources(con, s)...)
	if err = errors.Join(err, round.Close()); err != nil {
		return lostError(err, out)
	}
	err = conclude(con, out, c.JSON)
	switch {
	case err != nil:
		return err
	case out.Lost != "":
		return lostError(live.ErrGaugeLost, out)
	case !out.Done:
		return errOutside // for whoever goes on by the exit code
	}
	return nil
}

// sources are where the readings of a round in plain lines come from.
func (c *measureCmd) sources(con *console, s *live.Session) []live.Source {
	if c.Keyed {
		sheet := s.Folder.Sheet()
		unit := sheet.UnitFor(c.Feature)
		if c.Feature == record.FeatureLeakDown {
			unit = "" // read as pressures and a time, each with its own
		}
		parse := func(line string) ([]frame.KeyedValue, error) {
			return feature.ParseTyped(c.Feature, line, sheet.Gauge.ResolutionMM)
		}
		return []live.Source{device.NewKeyed(s.Label, unit, con.in, parse, time.Now)}
	}
	var sources []live.Source
	for _, p := range live.PortsFor(s.Ports, c.Feature) {
		sources = append(sources, p.Source())
	}
	return sources
}

// lostError turns the loss of a gauge into one clear line.
func lostError(err error, out live.Outcome) error {
	if !errors.Is(err, live.ErrGaugeLost) {
		return err
	}
	return devicef("check the cable and run the same command again: the round goes on where it stopped",
		"the gauge went away and did not come back (%s); %d captures are on disk", out.Lost, out.View.Stored)
}

// choose fills in what the job needs next and checks what was asked for.
func (c *measureCmd) choose(folder *job.Folder) error {
	sheet := folder.Sheet()
	if c.Feature != "" && !slices.Contains(record.Features(), c.Feature) {
		return usagef("one of "+strings.Join(record.Features(), ", "), "no feature %q", c.Feature)
	}
	if c.Stage != "" && !slices.Contains(sheet.StageList(), c.Stage) {
		return usagef("one of "+strings.Join(sheet.StageList(), ", "), "no stage %q in the job sheet", c.Stage)
	}
	if c.Feature != "" && c.Stage != "" {
		return nil
	}
	steps := job.Job{Sheet: sheet, Captures: folder.Captures()}.Steps()
	open := func(s job.Step) bool {
		return s.Open() && (c.Feature == "" || s.Feature == c.Feature) && (c.Stage == "" || s.Stage == c.Stage)
	}
	i := slices.IndexFunc(steps, func(s job.Step) bool { return open(s) && (s.Complete || !s.Optional) })
	if i < 0 {
		i = slices.IndexFunc(steps, open)
	}
	if i < 0 {
		return usagef("name --stage and --feature, with --again to measure anew", "nothing is left to measure")
	}
	c.Feature, c.Stage = steps[i].Feature, steps[i].Stage
	return nil
}

// onScreen says whether the round is shown on the dashboard.
func (c *measureCmd) onScreen(con *console) bool {
	return con.screen() && !c.NoScreen && !c.JSON && (!c.Keyed || isTerminal(con.in))
}
