package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/report"
)

type replayCmd struct {
	Job      string  `arg:"" help:"Job folder."`
	Round    string  `arg:"" optional:"" help:"Readings to play, such as as-found-backlash-1; none lists them."`
	Pace     float64 `help:"Recorded seconds a second; 1 is real time, 0 as fast as it goes." default:"0"`
	NoScreen bool    `help:"Print plain lines instead of the dashboard, which shows with a --pace."`
	JSON     bool    `name:"json" help:"Print events as JSON lines; no dashboard."`
}

// Run plays recorded readings, and the keys pressed meanwhile, through a round that
// keeps nothing; without one it prints the names of those there are.
func (c *replayCmd) Run(ctx context.Context, con *console) error {
	if c.Pace < 0 {
		return usagef("give 0 or more", "--pace %v is less than 0", c.Pace)
	}
	snap, err := job.Read(c.Job)
	if err != nil {
		return err
	}
	if c.Round == "" {
		names := report.Each(snap.Readings, roundName)
		return con.print(c.JSON, names, inLines(names))
	}
	path, err := findReadings(snap, c.Round)
	if err != nil {
		return err
	}
	screen := c.Pace > 0 && con.screen() && !c.NoScreen && !c.JSON
	var events []device.Event // all of them, so that nothing of a damaged file is used
	for ev, err := range journal.ReadReadings(path) {
		if err != nil {
			return err
		}
		events = append(events, ev)
	}
	config, recorded := logger.Recorded(append(events, device.Event{})[0]) // none: it says nothing
	if !recorded {
		return fmt.Errorf("%s: %w", path, logger.ErrNotRecorded)
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

// findReadings finds the readings file of a round, the newest where only stage
// and feature are named.
func findReadings(snap *job.Snapshot, round string) (path string, err error) {
	name := roundName(round)
	for _, p := range snap.Readings {
		if r, _ := journal.ReadingsRound(p); r == name || roundName(p) == name {
			path = p
		}
	}
	if path == "" {
		return "", usagef("crownlog replay "+snap.Dir+" lists them", "no recorded round %q", round)
	}
	return path, nil
}

// roundName is the name a readings file goes by.
func roundName(path string) string { return strings.TrimSuffix(filepath.Base(path), ".csv") }

// A player is a source that plays a recording.
type player struct {
	events []device.Event // one at least
	pace   float64        // recorded seconds a second; 0: no waiting
}

// Run sends the recorded events in order, at their recorded distance, and then the
// end.
func (p player) Run(ctx context.Context, out chan<- device.Event) error {
	events := p.events
	if last := events[len(events)-1]; last.Kind != device.EventEnd {
		events = append(slices.Clip(events), device.Event{Kind: device.EventEnd, Time: last.Time, Gauge: last.Gauge, Text: "end of the recorded readings"})
	}
	at := events[0].Time
	for _, ev := range events {
		if p.pace > 0 {
			select {
			case <-ctx.Done():
			case <-time.After(time.Duration(float64(ev.Time.Sub(at)) / p.pace)):
			}
			at = ev.Time
		}
		if ctx.Err() != nil {
			return nil
		}
		select {
		case out <- ev:
		case <-ctx.Done():
		}
	}
	return nil
}
