package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

type replayCmd struct {
	Job      string  `arg:"" help:"Job folder."`
	Round    string  `arg:"" optional:"" help:"Readings to play, such as as-found-backlash-1; none lists them."`
	Pace     float64 `help:"Recorded seconds a second; 1 is real time, 0 as fast as it goes." default:"0"`
	NoScreen bool    `help:"Print plain lines instead of the dashboard, which shows with a --pace."`
	JSON     bool    `name:"json" help:"Print events as JSON lines; no dashboard."`
}

// Run plays recorded readings, and the keys pressed meanwhile, through a round that
// keeps nothing. Those of before there was a chain have no keys.
func (c *replayCmd) Run(ctx context.Context, con *console) error {
	if c.Pace < 0 {
		return usagef("give 0 or more", "--pace %v is less than 0", c.Pace)
	}
	snap, err := readJob(c.Job)
	if err != nil {
		return err
	}
	if c.Round == "" {
		return c.list(con, snap)
	}
	path, stage, feature, err := findReadings(snap, c.Round)
	if err != nil {
		return err
	}
	events, err := readRecording(path)
	if err != nil {
		return err
	}
	screen := c.Pace > 0 && con.screen() && !c.NoScreen && !c.JSON
	if screen {
		if err := drawable(); err != nil {
			return err
		}
	}
	config, recorded := logger.RoundConfig{}, false
	if len(events) > 0 {
		config, recorded = logger.Recorded(events[0])
	}
	if !recorded {
		turned := turnTime(snap, events, stage, feature)
		if !turned.IsZero() { // the key that took it is not in the file
			events = slices.DeleteFunc(events, func(ev device.Event) bool { return ev.Time.After(turned) })
		}
		config = logger.RoundConfig{
			Stage: stage, Feature: feature, HandsOff: true, NoKeys: true, Keyed: wasKeyed(snap, stage, feature), Continuous: !turned.IsZero(),
		}
	}
	config.Sheet, config.Store, config.Override = snap.Sheet, &logger.Scratch{}, "replay of a recorded round"
	if !screen {
		config.Listen = plainListener(con, c.JSON)
	}
	round, err := logger.NewRound(config)
	if err != nil {
		return err
	}
	play := live.Config{Round: round, Stay: screen}
	var out live.Outcome
	measure := func(ctx context.Context) (err error) {
		out, err = live.Measure(ctx, play, player{events: events, pace: c.Pace})
		return err
	}
	if screen {
		play.Hub = live.NewHub()
		err = withScreen(ctx, play.Hub, dashboard.Source{}, measure)
	} else {
		err = measure(ctx)
	}
	if err == nil && ctx.Err() != nil {
		err = errInterrupted
	}
	return errors.Join(conclude(con, out, c.JSON), err)
}

func (c *replayCmd) list(con *console, snap *job.Snapshot) error {
	names := []string{}
	for _, path := range snap.Readings {
		names = append(names, roundName(path))
	}
	if c.JSON {
		return con.json(names)
	}
	for _, name := range names {
		fmt.Fprintln(con.out, name)
	}
	return nil
}

// findReadings finds the readings file of a round, the newest where only stage
// and feature are named.
func findReadings(snap *job.Snapshot, round string) (path, stage, feature string, err error) {
	name := roundName(round)
	for _, p := range snap.Readings {
		if r, _ := journal.ReadingsRound(p); r == name || roundName(p) == name {
			path = p
		}
	}
	if path == "" {
		return "", "", "", usagef("crownlog replay "+snap.Dir+" lists them", "no recorded round %q", round)
	}
	name, _ = journal.ReadingsRound(path)
	for _, f := range record.Features() {
		if s, ok := strings.CutSuffix(name, "-"+f); ok && len(f) > len(feature) {
			stage, feature = s, f
		}
	}
	if feature == "" {
		return "", "", "", fmt.Errorf("readings file %q: no stage and feature in its name", path)
	}
	return path, stage, feature, nil
}

func wasKeyed(snap *job.Snapshot, stage, feature string) bool {
	return slices.ContainsFunc(snap.Captures, func(c record.Capture) bool {
		return c.Stage == stage && c.Feature == feature && strings.Contains(c.Quality, "keyed")
	})
}

// turnTime is when the recorded run-out was taken as one turn, its capture
// standing for the whole feature; zero where it was not.
func turnTime(snap *job.Snapshot, events []device.Event, stage, feature string) time.Time {
	for _, c := range snap.Captures {
		if c.Stage == stage && c.Feature == feature && c.Position == 0 && strings.HasPrefix(feature, "runout-") && spans(events, c.Time) {
			return c.Time
		}
	}
	return time.Time{}
}
